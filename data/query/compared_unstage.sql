-- Drops the observations that were at work.
-- Parameters: none.
-- Columns: none.
drop table compared;
