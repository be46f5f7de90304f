-- The temporary table of fitted levels.
-- Parameters: none.
-- Columns: quantity, effect, level, value (log units).
create temporary table if not exists fitted_level (
    quantity text,
    effect text,
    level text,
    value double precision
);
