-- Forgets the wanted rows.
-- Parameters: none.
-- Columns: none.
delete from wanted;
