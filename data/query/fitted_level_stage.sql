-- The temporary table of what fits say of levels: of all of the quantity's effects, those that
-- the fit does not have too, and of each effect's blank, which is 0.
-- Parameters: none.
-- Columns: quantity, effect, level (its number); value (log units); theta2, what a blank adds to
-- the row's variance, in that of the scatter; lone, the value of a level with one row in the
-- fit at most, NULL for others.
create temporary table if not exists fitted_level (
    quantity text,
    effect text,
    level integer,
    value double precision,
    theta2 double precision,
    lone double precision
);
