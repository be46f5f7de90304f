-- What was planned for the latest build of each product that states a planned weight or length,
-- without the factors in it.
-- Parameters: $1 the last date, $2 the product ('': each).
-- Columns: product, weight, length, shot, strand (g and mm, NULL: not planned); ordered by product.
select distinct on (product) product, weight_base_g, length_base_mm, shot_base_g, strand_base_mm
from build_base
where date <= $1 and ($2 = '' or product = $2)
    and (weight_base_g is not null or length_base_mm is not null)
order by product, date desc, id desc;
