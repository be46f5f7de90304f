-- The temporary table of residuals: what a fit leaves of the eligible observations of the
-- quantity shown. It is filled for each scan: joining costs more than reading.
-- Parameters: none.
-- Columns: n of the row; t, the residual times the root of the row's weight 1/(1 + theta2 of
-- each blank label); lone, the largest |residual and the level's own value| of the levels with
-- one row in the fit at most, NULL where there are none; kept (the fit used the row).
create temporary table residual (
    n bigint,
    t double precision,
    lone double precision,
    kept boolean
);
