-- Copies the products into a temporary table of the same name, which statements then see
-- instead: a check merges into that and the log stays as it is.
-- Parameters: none.
-- Columns: those of product.
create temporary table product as
select
    product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, source, line
from product;
