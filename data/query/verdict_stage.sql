-- The temporary table of what the log says of a file's lines: see build_verdict.
-- Parameters: none.
-- Columns: line, other_source and other_line (where the log has its row from), differs.
create temporary table verdict (
    line integer,
    other_source integer,
    other_line integer,
    differs boolean
);
