-- The temporary table that the cord checks of one file are loaded into before they are
-- compared with the log.
-- Parameters: none.
-- Columns: those of cord_check that a file can state, what cord_check_carry fills in, and the
-- line.
create temporary table staged_cord_check (
    id text,
    date date,
    strand_batch text,
    checked_length_mm double precision,
    checked_mass_g double precision,
    predicted_mass_g double precision,
    note text,
    computed_mass_g double precision,
    parts_version integer,
    line integer
);
