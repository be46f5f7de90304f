-- The temporary table that the products of one file are loaded into before they are
-- compared with the log.
-- Parameters: none.
-- Columns: those of product that a file can state, and the line.
create temporary table staged_product (
    product text,
    description text,
    weight_low_g double precision,
    weight_high_g double precision,
    length_low_mm double precision,
    length_high_mm double precision,
    line integer
);
