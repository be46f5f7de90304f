-- Drops the view of observations.
-- Parameters: none.
-- Columns: none.
drop view observed;
