-- Lists the parts of the builds, with the servers that keep them.
-- Parameters: none.
-- Columns: schema, server; ordered by schema.
select cast(n.nspname as text) as part, cast(s.srvname as text)
from pg_catalog.pg_inherits as i
join pg_catalog.pg_class as c on c.oid = i.inhrelid
join pg_catalog.pg_namespace as n on n.oid = c.relnamespace
join pg_catalog.pg_foreign_table as t on t.ftrelid = c.oid
join pg_catalog.pg_foreign_server as s on s.oid = t.ftserver
where i.inhparent = cast('trueplait.build' as regclass)
order by part;
