-- Finds what came of a form.
-- Parameters: $1 the form's key.
-- Columns: kind, id.
select kind, id
from form_entry
where form_key = $1;
