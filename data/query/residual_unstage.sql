-- Drops the view of residuals, which stands on the observations at work.
-- Parameters: none.
-- Columns: none.
drop view residual;
