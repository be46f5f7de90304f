-- Loads a batch of products.
-- Parameters: none; the batch is the table appended.
-- Columns: those of staged_product.
insert into staged_product (
    product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, line
)
select
    product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, line
from appended;
