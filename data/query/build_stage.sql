-- The temporary table that the builds of one file are loaded into before they are
-- compared with the log.
-- Parameters: none.
-- Columns: those of build that a file can state, what build_carry fills in, the line, and what
-- build_hold says.
create temporary table staged_build (
    id text,
    date date,
    maker text,
    product text,
    core_batch text,
    strand_batch text,
    shot_batch text,
    predicted_weight_g double precision,
    predicted_length_mm double precision,
    predicted_shot_g double precision,
    predicted_strand_mm double precision,
    calibration integer,
    shot_factor double precision,
    body_factor double precision,
    length_factor double precision,
    weight_g double precision,
    length_mm double precision,
    shot_used_g double precision,
    strand_cut_mm double precision,
    strand_left_mm double precision,
    load_length_mm double precision,
    started date,
    humidity_percent double precision,
    set_aside text,
    note text,
    computed_weight_g double precision,
    computed_length_mm double precision,
    computed_shot_g double precision,
    computed_strand_mm double precision,
    parts_version integer,
    line integer,
    held boolean
);
