-- The temporary table of rows asked for and, where they are to be placed, one of their levels.
-- Parameters: none.
-- Columns: place in the list (from 1); effect and level (NULL: none); n, date, id, kind of the
-- row.
create temporary table if not exists wanted (
    place integer,
    effect text,
    level integer,
    n bigint,
    date date,
    id text,
    kind text
);
