-- Drops the levels.
-- Parameters: none.
-- Columns: none.
drop table level;
