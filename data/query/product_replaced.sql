-- Lists the products that amendments replaced.
-- Parameters: $1 the product ('': all).
-- Columns: the row as it was, the name of its file and its line; when it was replaced and by which file.
select
    b.product, b.description, b.weight_low_g, b.weight_high_g, b.length_low_mm, b.length_high_mm, f.name,
    b.line, b.replaced_at, g.name
from product_history as b
join source as f on f.number = b.source
join source as g on g.number = b.replaced_by
where $1 = '' or b.product = $1
order by b.replaced_by, b.product, b.line;
