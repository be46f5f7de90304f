-- Takes out the open plan of a build; it is in the history by now.
-- Parameters: $1 id.
-- Columns: none.
delete from open_build
where id = $1 and finished_at is null;
