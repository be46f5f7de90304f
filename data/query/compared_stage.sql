-- The temporary table of what is compared: every row up to a date, with all its quantities.
-- Fits read it many times, and the views it comes from cost more to plan than a small log
-- takes to read. Labels are numbers of levels, 0 where blank.
-- Parameters: none.
-- Columns: n (a number of the row's own), built (a build; else a test fill where core_batch is
-- not 0, or a cord check), id, date, levels; y = ln(measured/base) of each quantity, NULL where
-- the row does not say or body is not positive; no_body_ratio, measured/base of body where it is
-- not positive; why no fit may use a quantity of the row, NULL where it may: 1 set aside by hand,
-- 2 unit slip, 3 unit slip in weight or shot, 4 weight is not above shot used.
create temporary table compared (
    n bigint,
    built boolean,
    id text,
    date date,
    maker integer,
    core_batch integer,
    strand_batch integer,
    shot_batch integer,
    product integer,
    shot_y double precision,
    body_y double precision,
    weight_y double precision,
    length_y double precision,
    strand_y double precision,
    no_body_ratio double precision,
    shot_out smallint,
    body_out smallint,
    weight_out smallint,
    length_out smallint,
    strand_out smallint
);
