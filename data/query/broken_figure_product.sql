-- Lists figures of products, replaced ones too, that are zero, negative or not finite.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'products' as kind, v.product as id, 'has the ' || f.name || ' ' || cast(f.value as text) as detail
from (
    select
        product, weight_low_g, weight_high_g, length_low_mm, length_high_mm
    from product
    union all
    select
        product, weight_low_g, weight_high_g, length_low_mm, length_high_mm
    from product_history
) as v
cross join lateral (
    values
        ('weight_low_g', v.weight_low_g),
        ('weight_high_g', v.weight_high_g),
        ('length_low_mm', v.length_low_mm),
        ('length_high_mm', v.length_high_mm)
) as f (name, value)
where not (f.value > 0 and f.value < cast('infinity' as double precision))
order by id, detail;
