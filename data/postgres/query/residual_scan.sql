-- Works out what a fit leaves of the eligible observations of the quantity shown: t, the residual
-- times the root of the row's weight 1/(1 + theta2 of each blank label). Those that the fit used
-- are counted in bins floor(t/width), and read where their bin is one of some, or where they stand
-- out.
-- Parameters: $1 quantity, $2 mean; $3 to $7 whether maker, core batch, strand batch, shot
-- batch, product are effects of the quantity; $8 width; $9 the bin in the middle, $10 how many bins
-- on each side of it are read; $11 and $12 the first and last of those farther out that are; $13 the
-- |t| from which rows stand out; $14 whether any level has one row in the fit at most, and $15 the
-- |y - mean - other effects| from which its rows stand out.
-- An effect of another quantity is switched off by a product, not by a case: joins are hashed then.
-- Columns: bin (NULL: the fit did not use them), number, t of those that are read, n and t of
-- those that stand out (NULL: none); ordered by bin.
select r.bin, count(*),
    array_agg(r.t) filter (where abs(r.bin - $9) <= $10 or abs(r.bin - $9) between $11 and $12),
    array_agg(r.n order by r.n) filter (where r.far),
    array_agg(r.t order by r.n) filter (where r.far)
from (
    select
        e.n, e.t,
        case when e.kept then floor(e.t / $8) end as bin,
        abs(e.t) > $13 or e.lone > $15 as far
    from (
        select
            l.n, l.kept,
            l.residual / sqrt(l.variance) as t,
            case when $14 then greatest(
                abs(l.residual + l.maker_lone),
                abs(l.residual + l.core_batch_lone),
                abs(l.residual + l.strand_batch_lone),
                abs(l.residual + l.shot_batch_lone),
                abs(l.residual + l.product_lone)
            ) end as lone
        from (
            select
                o.n,
                a.n is null as kept,
                o.y - $2 - ma.value - co.value - st.value - sh.value - pr.value as residual,
                1 + ma.theta2 + co.theta2 + st.theta2 + sh.theta2 + pr.theta2 as variance,
                ma.lone as maker_lone,
                co.lone as core_batch_lone,
                st.lone as strand_batch_lone,
                sh.lone as shot_batch_lone,
                pr.lone as product_lone
            from observed as o
            join fitted_level as ma
                on ma.quantity = $1 and ma.effect = 'maker' and ma.level = o.maker * cast(cast($3 as boolean) as integer)
            join fitted_level as co
                on co.quantity = $1 and co.effect = 'core_batch' and co.level = o.core_batch * cast(cast($4 as boolean) as integer)
            join fitted_level as st
                on st.quantity = $1 and st.effect = 'strand_batch' and st.level = o.strand_batch * cast(cast($5 as boolean) as integer)
            join fitted_level as sh
                on sh.quantity = $1 and sh.effect = 'shot_batch' and sh.level = o.shot_batch * cast(cast($6 as boolean) as integer)
            join fitted_level as pr
                on pr.quantity = $1 and pr.effect = 'product' and pr.level = o.product * cast(cast($7 as boolean) as integer)
            left join aside as a
                on a.quantity = $1 and a.n = o.n
            where o.eligible
        ) as l
    ) as e
) as r
group by r.bin
order by r.bin;
