-- Says whether there is a role of a name.
-- Parameters: $1 name.
-- Columns: 1 or 0.
select count(*)
from pg_catalog.pg_roles
where rolname = $1;
