-- Lists the sizes of the residuals that the fit used: t, or its distance from a middle.
-- Parameters: $1 whether distances, $2 the middle, $3 the least size, $4 the size they are below.
-- Columns: size; ordered.
select size
from (
    select case when $1 then abs(t - $2) else t end as size
    from residual
    where kept
) as r
where size >= $3 and size < $4
order by size;
