-- The temporary table of the eligible observations of quantities that have a fit, beside
-- what the fit says of them. It is filled for each scan: joining costs more than reading.
-- Parameters: none.
-- Columns: ratio (measured/base); residual (y less mean and effects); t, the residual times
-- the root of the row's weight 1/(1 + theta2 of each blank label); kept (the fit used the
-- row); the value of each label in the fit.
create temporary table residual (
    quantity text,
    kind text,
    id text,
    date date,
    maker text,
    core_batch text,
    strand_batch text,
    shot_batch text,
    product text,
    ratio double precision,
    residual double precision,
    t double precision,
    kept boolean,
    maker_value double precision,
    core_batch_value double precision,
    strand_batch_value double precision,
    shot_batch_value double precision,
    product_value double precision
);
