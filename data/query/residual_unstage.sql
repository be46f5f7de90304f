-- Drops the table of residuals.
-- Parameters: none.
-- Columns: none.
drop table residual;
