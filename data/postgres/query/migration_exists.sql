-- Says whether the database has had any migration.
-- Parameters: none.
-- Columns: 1 or 0.
select count(*)
from pg_catalog.pg_class as c
join pg_catalog.pg_namespace as n on n.oid = c.relnamespace
where n.nspname = 'trueplait' and c.relname = 'schema_migration';
