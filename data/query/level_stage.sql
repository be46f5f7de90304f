-- The temporary table of the levels that rows have: labels, and what splits make of them.
-- Parameters: none.
-- Columns: effect, n (from 1 for each effect, in the order of the labels), label.
create temporary table level (
    effect text,
    n integer,
    label text
);
