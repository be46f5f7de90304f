-- Lists the observations of the quantity at work that no fit may use.
-- Parameters: none.
-- Columns: kind, id, date, measured/base, why, the maker's own reason where set aside by hand;
-- ordered by date, id, kind.
select o.kind, o.id, o.date, o.ratio, o.excluded, b.set_aside
from observed as o
left join build as b on o.built and b.id = o.id and o.excluded = 'set aside by hand'
where not o.eligible
order by o.date, o.id, o.kind;
