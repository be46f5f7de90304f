-- The temporary table of fits that residuals are taken from.
-- Parameters: none.
-- Columns: quantity, mean (log units); the squared ratio of each effect's spread to the
-- scatter, 0 for what is no effect of the quantity.
create temporary table if not exists fitted (
    quantity text,
    mean double precision,
    maker_theta2 double precision,
    core_batch_theta2 double precision,
    strand_batch_theta2 double precision,
    shot_batch_theta2 double precision,
    product_theta2 double precision
);
