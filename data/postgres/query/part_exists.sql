-- Says whether there is a part of that name.
-- Parameters: $1 schema of the part.
-- Columns: whether.
select exists (select 1 from pg_catalog.pg_namespace where nspname = $1);
