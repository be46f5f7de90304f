-- Empties the table of residuals.
-- Parameters: none.
-- Columns: none.
delete from residual;
