-- Lists ids that several rows have; of parts, products with several lists, and places of a
-- list that are not 1, 2, 3, ….
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select r.kind, r.id, 'is there ' || cast(count(*) as text) || ' times' as detail
from log_row as r
group by r.kind, r.id
having count(*) > 1
union all
select 'parts' as kind, p.product as id, 'has several lists or places that do not count up' as detail
from part as p
group by p.product
having min(p.version) < max(p.version) or min(p.source) < max(p.source)
    or min(p.position) <> 1 or max(p.position) <> count(*) or count(distinct p.position) <> count(*)
order by kind, id, detail;
