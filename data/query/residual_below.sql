-- Counts the residuals that the fit used by their size, t or its distance from a middle: those
-- below some sizes and those of them.
-- Parameters: $1 whether distances, $2 the middle, $3 the least size, $4 the size they are below.
-- Columns: number below, number of them.
select
    count(*) filter (where size < $3),
    count(*) filter (where size >= $3 and size < $4)
from (
    select case when $1 then abs(t - $2) else t end as size
    from residual
    where kept
) as r;
