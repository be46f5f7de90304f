-- Says whether the file has had any migration.
-- Parameters: none.
-- Columns: 1 or 0.
select count(*)
from information_schema.tables
where table_name = 'schema_migration';
