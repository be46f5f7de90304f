-- Lists the units that makers read.
-- Parameters: none.
-- Columns: maker, units; ordered by maker.
select maker, units
from maker_units
order by maker;
