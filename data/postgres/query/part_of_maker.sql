-- Finds the part that a maker's builds belong to.
-- Parameters: $1 the maker.
-- Columns: schema of the part, name of its server.
select cast(n.nspname as text), cast(s.srvname as text)
from pg_catalog.pg_inherits as i
join pg_catalog.pg_class as c on c.oid = i.inhrelid
join pg_catalog.pg_namespace as n on n.oid = c.relnamespace
join pg_catalog.pg_foreign_table as t on t.ftrelid = c.oid
join pg_catalog.pg_foreign_server as s on s.oid = t.ftserver
where i.inhparent = cast('trueplait.build' as regclass)
    and satisfies_hash_partition(
        cast('trueplait.maker_hash' as regclass),
        (select cast(count(*) as integer) from pg_catalog.pg_inherits where inhparent = cast('trueplait.build' as regclass)),
        cast(substr(n.nspname, length('trueplait_p') + 1) as integer),
        cast($1 as text)
    );
