-- The temporary table of what is compared: the test fills and the cord checks. Builds stay on
-- their servers, and are known there by the key in fit_key (of no collation of its own, or a
-- condition on it would not be sent to them).
-- Parameters: none.
-- Columns: those that a log in one place has.
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
create temporary table fit_key (fit text, quantity text);
