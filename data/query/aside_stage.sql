-- The temporary table of rows that fits left out.
-- Parameters: none.
-- Columns: quantity; n of the row.
create temporary table if not exists aside (
    quantity text,
    n bigint
);
