-- Forgets the residuals.
-- Parameters: none.
-- Columns: none.
delete from residual;
