-- Words the statement that names another server. Moving a row to this one costs far more than
-- reading it there, so that it sums up what it can.
-- Parameters: $1 its name, $2 host, $3 port, $4 database, $5 further options of libpq as
-- name, value, name, value…
-- Columns: the statement.
select format(
    'create server %I foreign data wrapper postgres_fdw options ('
    'host %L, port %L, dbname %L, connect_timeout ''10'', use_remote_estimate ''false'', '
    'async_capable ''true'', batch_size ''1000'', fetch_size ''10000'', fdw_tuple_cost ''1'', '
    'options ''-c enable_nestloop=off -c enable_mergejoin=off -c jit=off''%s)',
    cast($1 as text), cast($2 as text), cast($3 as text), cast($4 as text),
    (
        select coalesce(string_agg(format(', %I %L', o.name, o.value), '' order by o.place), '')
        from (
            select w.place, w.word as name, lead(w.word) over (order by w.place) as value
            from unnest(cast($5 as text[])) with ordinality as w (word, place)
        ) as o
        where o.place % 2 = 1
    )
);
