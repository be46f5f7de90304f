-- Says whether there is the role that every workshop is a member of.
-- Parameters: none.
-- Columns: 1 or 0.
select count(*)
from pg_catalog.pg_roles
where rolname = 'trueplait_workshop';
