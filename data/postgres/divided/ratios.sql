-- Reads measured/base of the wanted rows, of the quantity shown.
-- Parameters: none.
-- Columns: kind, id, measured/base; ordered by kind, id.
select o.kind, o.id, o.ratio
from observed as o
join wanted as w on w.id = o.id and w.kind = o.kind
where o.id = any (array(select id from wanted))
order by o.kind, o.id;
