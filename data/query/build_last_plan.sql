-- What was planned for the latest build of a product that states a planned weight or length,
-- without the factors in it.
-- Parameters: $1 the last date, $2 the product.
-- Columns: weight, length, shot, strand (g and mm, NULL: not planned).
select weight_base_g, length_base_mm, shot_base_g, strand_base_mm
from build_base
where date <= $1 and product = $2
    and (weight_base_g is not null or length_base_mm is not null)
order by date desc, id desc
limit 1;
