-- Lists the observations of a quantity, excluded ones too, with the labels as they stand.
-- Parameters: $1 quantity, $2 the last date, $3 whether nothing with a ratio is excluded.
-- Columns: kind, id, date, started, maker, core batch, strand batch, shot batch, product,
-- measured, base, planned and, of weight, the base of its shot
-- (g or mm), y = ln(measured/base), why excluded; ordered by
-- date, id, kind.
select kind, id, date, started, maker, core_batch, strand_batch, shot_batch, product,
    measured, base, planned, shot_base, y,
    case when $3 and y is not null then null else excluded end
from observation
where quantity = $1 and date <= $2
order by date, id, kind;
