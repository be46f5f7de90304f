-- Words the statements that make another server's part one of the log's. Its schema has the
-- tables and views of the log, by the same names, as far as builds are in them: who looks there
-- first reads and writes the builds of the part, and asks no other server.
-- Parameters: $1 schema of the part, $2 server, $3 number of parts, $4 its number, from 0.
-- Columns: the statements; afterwards the schema is the first in the search path of the
-- transaction, and wants the views of migration 2.
select format(
    $text$
create schema if not exists %1$I;
create foreign table %1$I.build partition of trueplait.build
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'build');
create foreign table %1$I.build_history partition of trueplait.build_history
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'build_history');
create foreign table %1$I.observed_build partition of trueplait.observed_build
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'observed');
create foreign table %1$I.compared_build partition of trueplait.compared_build
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'compared');
create foreign table %1$I.residual_build partition of trueplait.residual_build
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'residual');
create foreign table %1$I.residual_pair_build partition of trueplait.residual_pair_build
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'residual_pair');
create foreign table %1$I.digest_build partition of trueplait.digest_build
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'digest');
create foreign table %1$I.tally_build partition of trueplait.tally_build
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'tally');
create foreign table %1$I.load_build partition of trueplait.load_build
    for values with (modulus %3$s, remainder %4$s)
    server %2$I options (schema_name %1$L, table_name 'load');
create foreign table %1$I.fit (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    made_at timestamp not null default current_timestamp,
    through date not null,
    everything boolean not null,
    splits boolean not null
) server %2$I options (schema_name 'trueplait', table_name 'fit');
create foreign table %1$I.fit_split (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    effect text collate "C" not null,
    label text collate "C" not null,
    since date not null
) server %2$I options (schema_name 'trueplait', table_name 'fit_split');
create foreign table %1$I.fit_level (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    quantity text collate "C" not null,
    effect text collate "C" not null,
    label text collate "C" not null,
    value double precision not null,
    theta2 double precision not null,
    lone double precision
) server %2$I options (schema_name 'trueplait', table_name 'fit_level');
create view %1$I.part_server with (security_invoker = true) as select cast(%2$L as text) as name;
grant usage on schema %1$I to trueplait_workshop;
grant select, insert, update, delete on all tables in schema %1$I to trueplait_workshop;
set local search_path = %1$I, trueplait, pg_catalog;
$text$,
    cast($1 as text), cast($2 as text), cast($3 as integer), cast($4 as integer)
);
