-- Counts the residuals that the fit used by steps of their size, t or its distance from a
-- middle. A bin is floor(size/width).
-- Parameters: $1 whether distances, $2 the middle, $3 the least size looked into, $4 the size
-- they are below, $5 the width of the bins.
-- Columns: bin, number; ordered by bin.
select floor(size / $5) as bin, count(*)
from (
    select case when $1 then abs(t - $2) else t end as size
    from residual
    where kept
) as r
where size >= $3 and size < $4
group by bin
order by bin;
