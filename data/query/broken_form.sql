-- Lists forms that were saved as a row which is not there.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select f.kind, f.id, 'was saved on the page and is not there' as detail
from form_entry as f
where not exists (select 1 from log_row as r where r.kind = f.kind and r.id = f.id)
order by f.kind, f.id;
