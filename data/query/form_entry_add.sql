-- Notes what came of a form.
-- Parameters: $1 the form's key, $2 kind, $3 id, $4 time.
-- Columns: those of form_entry.
insert into form_entry (form_key, kind, id, entered_at)
values ($1, $2, $3, $4);
