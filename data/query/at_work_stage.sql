-- The temporary table of one row that says which quantity is at work.
-- Parameters: none.
-- Columns: quantity.
create temporary table if not exists at_work (quantity text);
