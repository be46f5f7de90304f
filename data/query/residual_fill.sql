-- Works out what a fit leaves of the eligible observations of the quantity shown.
-- Parameters: $1 quantity, $2 mean; $3 to $7 whether maker, core batch, strand batch, shot
-- batch, product are effects of the quantity.
-- Columns: those of residual.
insert into residual (n, t, lone, kept)
select
    r.n,
    r.residual / sqrt(r.variance),
    greatest(
        abs(r.residual + r.maker_lone),
        abs(r.residual + r.core_batch_lone),
        abs(r.residual + r.strand_batch_lone),
        abs(r.residual + r.shot_batch_lone),
        abs(r.residual + r.product_lone)
    ),
    r.kept
from (
    select
        o.n,
        o.y - $2 - ma.value - co.value - st.value - sh.value - pr.value as residual,
        1 + ma.theta2 + co.theta2 + st.theta2 + sh.theta2 + pr.theta2 as variance,
        ma.lone as maker_lone,
        co.lone as core_batch_lone,
        st.lone as strand_batch_lone,
        sh.lone as shot_batch_lone,
        pr.lone as product_lone,
        a.n is null as kept
    from observed as o
    join fitted_level as ma
        on ma.quantity = $1 and ma.effect = 'maker' and ma.level = case when $3 then o.maker else 0 end
    join fitted_level as co
        on co.quantity = $1 and co.effect = 'core_batch' and co.level = case when $4 then o.core_batch else 0 end
    join fitted_level as st
        on st.quantity = $1 and st.effect = 'strand_batch' and st.level = case when $5 then o.strand_batch else 0 end
    join fitted_level as sh
        on sh.quantity = $1 and sh.effect = 'shot_batch' and sh.level = case when $6 then o.shot_batch else 0 end
    join fitted_level as pr
        on pr.quantity = $1 and pr.effect = 'product' and pr.level = case when $7 then o.product else 0 end
    left join aside as a
        on a.quantity = $1 and a.n = o.n
    where o.eligible
) as r;
