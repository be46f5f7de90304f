-- Lists products, by name.
-- Parameters: $1 the product ('': all).
-- Columns: as a file states them, the name of the file and the line.
select
    b.product, b.description, b.weight_low_g, b.weight_high_g, b.length_low_mm, b.length_high_mm, f.name,
    b.line
from product as b
join source as f on f.number = b.source
where $1 = '' or b.product = $1
order by b.product;
