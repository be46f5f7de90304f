-- Drops the staging table of a file that is finished.
-- Parameters: none.
-- Columns: none.
drop table staged_build;
