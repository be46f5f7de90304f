-- The products as the log holds them, for Parquet.
-- Parameters: none.
-- Columns: those of product; ordered by name.
select
    product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, source, line
from product
order by product;
