-- Drops the list of repeats of a file that is finished.
-- Parameters: none.
-- Columns: none.
drop table if exists repeated;
