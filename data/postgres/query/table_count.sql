-- Counts the tables and views in the place of a log: 0 in a new database.
-- Parameters: none.
-- Columns: the number.
select count(*)
from pg_catalog.pg_class as c
join pg_catalog.pg_namespace as n on n.oid = c.relnamespace
where n.nspname = 'trueplait' and c.relkind in ('r', 'p', 'f', 'v');
