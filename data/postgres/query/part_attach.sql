-- Words the statements that make another server's part one of the log's.
-- Parameters: $1 schema of the part, $2 server, $3 number of parts, $4 its number, from 0.
-- Columns: the statements.
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
$text$,
    cast($1 as text), cast($2 as text), cast($3 as integer), cast($4 as integer)
);
