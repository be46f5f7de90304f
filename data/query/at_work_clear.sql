-- Puts no quantity to work.
-- Parameters: none.
-- Columns: none.
delete from at_work;
