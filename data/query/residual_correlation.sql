-- Correlates what the fits of shot and of body leave of the builds that both used.
-- Parameters: $1 and $2 the means of the fits.
-- Columns: Pearson's correlation (NULL: not defined), number of builds.
select corr(r.x, r.y), count(*)
from (
    select
        c.shot_y - $1 - m1.value - c1.value - h1.value as x,
        c.body_y - $2 - m2.value - s2.value - p2.value as y
    from compared as c
    join fitted_level as m1 on m1.quantity = 'shot' and m1.effect = 'maker' and m1.level = c.maker
    join fitted_level as c1 on c1.quantity = 'shot' and c1.effect = 'core_batch' and c1.level = c.core_batch
    join fitted_level as h1 on h1.quantity = 'shot' and h1.effect = 'shot_batch' and h1.level = c.shot_batch
    join fitted_level as m2 on m2.quantity = 'body' and m2.effect = 'maker' and m2.level = c.maker
    join fitted_level as s2 on s2.quantity = 'body' and s2.effect = 'strand_batch' and s2.level = c.strand_batch
    join fitted_level as p2 on p2.quantity = 'body' and p2.effect = 'product' and p2.level = c.product
    left join aside as a on a.quantity in ('shot', 'body') and a.n = c.n
    where c.built
        and c.shot_y is not null and c.shot_out is null
        and c.body_y is not null and c.body_out is null
        and a.n is null
) as r;
