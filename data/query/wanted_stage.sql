-- The temporary table of rows asked for: by their number, by kind and id, or to be placed among
-- the rows of one of their levels. What a question does not need is NULL.
-- Parameters: none.
-- Columns: place in the list (from 1); n, kind, id, date of the row; effect and level.
create temporary table if not exists wanted (
    place integer,
    n bigint,
    kind text,
    id text,
    date date,
    effect text,
    level integer
);
