-- Reads measured/base of the wanted rows.
-- Parameters: $1 quantity.
-- Columns: kind, id, measured/base; ordered by kind, id.
select o.kind, o.id, o.measured / o.base
from compared as o
join wanted as w on w.kind = o.kind and w.id = o.id
where o.quantity = $1
order by o.kind, o.id;
