-- Drops the verdicts of a file that is finished.
-- Parameters: none.
-- Columns: none.
drop table if exists verdict;
