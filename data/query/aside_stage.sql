-- The temporary table of rows that fits left out.
-- Parameters: none.
-- Columns: quantity; kind and id of the row.
create temporary table if not exists aside (
    quantity text,
    kind text,
    id text
);
