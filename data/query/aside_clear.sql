-- Forgets the rows that fits left out.
-- Parameters: none.
-- Columns: none.
delete from aside;
