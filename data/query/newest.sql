-- Lists the newest eligible observations of a quantity.
-- Parameters: $1 quantity, $2 how many at most.
-- Columns: kind, id, date, maker, core batch, strand batch, shot batch, product,
-- y = ln(measured/base); ordered by date, id, kind, all falling.
select kind, id, date, maker, core_batch, strand_batch, shot_batch, product, y
from compared
where quantity = $1 and excluded is null
order by date desc, id desc, kind desc
limit $2;
