-- Reads the wanted rows' observations of the quantity shown.
-- Parameters: none.
-- Columns: n, kind, id, date, maker, core batch, strand batch, shot batch, product (0: blank), y,
-- measured/base; ordered by n.
select o.n, o.kind, o.id, o.date, o.maker, o.core_batch, o.strand_batch, o.shot_batch, o.product,
    o.y, o.ratio
from wanted as w
join observed as o on o.n = w.n
where o.n = any (array(select n from wanted))
order by o.n;
