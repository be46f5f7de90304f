-- Finishes the open plans whose builds a file brought.
-- Parameters: $1 time of the import, $2 number of the source.
-- Columns: none.
update open_build
set finished_at = $1, finished_by = $2
where finished_at is null and id in (select b.id from build as b where b.source = $2);
