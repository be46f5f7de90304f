-- Has joins hashed wherever they can be.
-- Parameters: none.
-- Columns: none.
set enable_nestloop = off;
