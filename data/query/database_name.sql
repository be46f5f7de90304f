-- The name that the database goes by in statements: that of its file.
-- Parameters: none.
-- Columns: the name.
select current_database();
