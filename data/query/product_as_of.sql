-- The products as the log held them when a file was the newest.
-- Parameters: $1 number of that source.
-- Columns: those of product; ordered by product.
select
    product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, source, line
from product
where source <= $1
union all
select
    product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, source, line
from product_history
where source <= $1 and replaced_by > $1
order by product;
