-- The latest build of a product.
-- Parameters: $1 the last date, $2 the product ('': any).
-- Columns: id, date, maker, core batch, strand batch, shot batch, product; by date, then id.
select id, date, maker, core_batch, strand_batch, shot_batch, product
from build
where date <= $1 and ($2 = '' or product = $2)
order by date desc, id desc
limit 1;
