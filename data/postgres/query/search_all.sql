-- Looks into the schema of the log first again.
-- Parameters: none.
-- Columns: none.
set local search_path = trueplait, pg_catalog;
