-- Forgets the fitted levels.
-- Parameters: none.
-- Columns: none.
delete from fitted_level;
