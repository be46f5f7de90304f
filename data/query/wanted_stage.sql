-- The temporary table of rows that are to be counted and placed among those of a label.
-- Parameters: none.
-- Columns: effect and label; kind and id of the row.
create temporary table if not exists wanted (
    effect text,
    label text,
    kind text,
    id text
);
