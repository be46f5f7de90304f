-- Finds the numbers of wanted rows.
-- Parameters: none.
-- Columns: place in the list, n; ordered by the first.
select w.place, c.n
from wanted as w
join compared as c
    on c.id = w.id
    and w.kind = case when c.built then 'builds' when c.core_batch > 0 then 'fills' else 'checks' end
order by w.place;
