-- Lets the server reach others.
-- Parameters: none.
-- Columns: none.
create extension if not exists postgres_fdw schema public;
