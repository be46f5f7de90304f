-- The temporary table that the test fills of one file are loaded into before they are
-- compared with the log.
-- Parameters: none.
-- Columns: those of fill that a file can state, what fill_carry fills in, and the line.
create temporary table staged_fill (
    id text,
    date date,
    maker text,
    core_batch text,
    shot_batch text,
    filled_length_mm double precision,
    shot_mass_g double precision,
    predicted_shot_g double precision,
    note text,
    computed_shot_g double precision,
    parts_version integer,
    line integer
);
