-- The latest build of each product.
-- Parameters: $1 the last date.
-- Columns: date, maker, core batch, strand batch, shot batch, product; ordered by product.
select distinct on (product) date, maker, core_batch, strand_batch, shot_batch, product
from build
where date <= $1
order by product, date desc, id desc;
