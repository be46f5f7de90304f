-- Words the statements that let another server be told of fits.
-- Parameters: $1 its name.
-- Columns: the statements.
select format(
    $text$
create foreign table trueplait.%1$I partition of trueplait.fit
    for values in (%4$L) server %4$I options (schema_name 'trueplait', table_name 'fit');
create foreign table trueplait.%2$I partition of trueplait.fit_split
    for values in (%4$L) server %4$I options (schema_name 'trueplait', table_name 'fit_split');
create foreign table trueplait.%3$I partition of trueplait.fit_level
    for values in (%4$L) server %4$I options (schema_name 'trueplait', table_name 'fit_level');
$text$,
    'fit_' || cast($1 as text), 'fit_split_' || cast($1 as text), 'fit_level_' || cast($1 as text), cast($1 as text)
);
