-- Finds the numbers of wanted rows.
-- Parameters: none.
-- Columns: place in the list, n; ordered by the first.
select r.place, r.n
from (
    select w.place, cast(b.source as bigint) * 4294967296 + b.line as n
    from wanted as w
    join build as b on b.id = w.id
    where w.kind = 'builds' and b.id = any (array(select id from wanted where kind = 'builds'))
    union all
    select w.place, c.n
    from wanted as w
    join compared as c on c.id = w.id and w.kind = case when c.core_batch > 0 then 'fills' else 'checks' end
) as r
order by r.place;
