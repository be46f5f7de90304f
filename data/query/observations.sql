-- Lists the observations of a quantity, excluded ones too.
-- Parameters: $1 quantity.
-- Columns: kind, id, date, started, maker, core batch, strand batch, shot batch, product,
-- measured, base, planned and, of weight, the base of its shot
-- (g or mm), y = ln(measured/base), why excluded; ordered by
-- date, id, kind.
select kind, id, date, started, maker, core_batch, strand_batch, shot_batch, product,
    measured, base, planned, shot_base, y, excluded
from compared
where quantity = $1
order by date, id, kind;
