-- Adds the staged products whose id the log does not have.
-- Parameters: $1 number of the source.
-- Columns: those of product that a file can state, source, line.
insert into product (
    product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, source, line
)
select
    s.product, s.description, s.weight_low_g, s.weight_high_g, s.length_low_mm, s.length_high_mm, $1, s.line
from staged_product as s
where not exists (select 1 from product as b where b.product = s.product)
    and s.line not in (select r.line from repeated as r);
