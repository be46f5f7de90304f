-- Forgets the fits.
-- Parameters: none.
-- Columns: none.
delete from fitted;
