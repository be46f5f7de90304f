-- Says whether the builds of the log are on other servers.
-- Parameters: none.
-- Columns: whether.
select exists (
    select 1
    from pg_catalog.pg_class as c
    join pg_catalog.pg_namespace as n on n.oid = c.relnamespace
    where n.nspname = 'trueplait' and c.relname = 'build' and c.relkind = 'p'
);
