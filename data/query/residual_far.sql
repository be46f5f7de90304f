-- Lists the rows that stand out, and those that may as the only one of a level.
-- Parameters: $1 the least |t| that stands out, $2 the least |y - mean - other effects| of a
-- lone row.
-- Columns: kind, id, date, maker, core batch, strand batch, shot batch, product (0:
-- blank), y, measured/base, t; ordered by |t| falling, date, id, kind.
select o.kind, o.id, o.date, o.maker, o.core_batch, o.strand_batch, o.shot_batch, o.product,
    o.y, o.ratio, r.t
from residual as r
join observed as o on o.n = r.n
where abs(r.t) > $1 or r.lone > $2
order by abs(r.t) desc, o.date, o.id, o.kind;
