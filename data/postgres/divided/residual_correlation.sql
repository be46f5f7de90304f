-- Correlates what the fits of shot and of body leave of the builds that both used: from sums per
-- maker, which the servers make.
-- Parameters: $1 and $2 the means of the fits.
-- Columns: Pearson's correlation (NULL: not defined), number of builds.
with part as (
    select r.maker, count(*) as rows, avg(r.shot) - $1 as x, avg(r.body) - $2 as y,
        var_pop(r.shot) as xx, var_pop(r.body) as yy, covar_pop(r.shot, r.body) as xy
    from residual_pair_build as r
    where r.fit = (select k.fit from fit_key as k)
        and r.n <> all (array(select a.n from aside as a where a.quantity in ('shot', 'body')))
    group by r.maker
), centred as (
    select rows, xx, yy, xy,
        x - sum(rows * x) over () / sum(rows) over () as dx,
        y - sum(rows * y) over () / sum(rows) over () as dy
    from part
)
select
    sum(rows * (xy + dx * dy)) / nullif(sqrt(sum(rows * (xx + dx * dx)) * sum(rows * (yy + dy * dy))), 0),
    coalesce(cast(sum(rows) as bigint), 0)
from centred;
