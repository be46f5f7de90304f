-- Drops the table of residuals: what is put into a table whose rows were deleted takes longer.
-- Parameters: none.
-- Columns: none.
drop table residual;
