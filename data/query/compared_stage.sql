-- The temporary table of the observations at work: those of the quantities being fitted, up
-- to a date. Fits read them many times, and the view observation costs more to plan than a
-- small log takes to read.
-- Parameters: none.
-- Columns: those of observation; kept, which is false where a fit left the row out.
create temporary table compared (
    quantity text,
    kind text,
    id text,
    date date,
    started date,
    maker text,
    core_batch text,
    strand_batch text,
    shot_batch text,
    product text,
    measured double precision,
    base double precision,
    planned double precision,
    shot_base double precision,
    y double precision,
    excluded text,
    set_aside text,
    kept boolean
);
