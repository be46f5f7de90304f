-- Works out what a fit leaves of the eligible observations of the quantity shown: t, the residual
-- times the root of the row's weight 1/(1 + theta2 of each blank label). Those that the fit used
-- are counted in bins floor(t/width), and read where their bin is one of some, or where they stand
-- out. The servers do that for builds; a bin may come from several of them.
-- Parameters: $1 quantity, $2 mean; $3 to $7 whether maker, core batch, strand batch, shot
-- batch, product are effects of the quantity; $8 width; $9 the bin in the middle, $10 how many bins
-- on each side of it are read; $11 and $12 the first and last of those farther out that are; $13 the
-- |t| from which rows stand out; $14 whether any level has one row in the fit at most, and $15 the
-- |y - mean - other effects| from which its rows stand out.
-- Columns: bin (NULL: the fit did not use them), number, t of those that are read, n and t of
-- those that stand out (NULL: none); ordered by bin.
with build as (
    select r.maker, r.bin, count(*) as rows,
        array_agg(r.t) filter (where abs(r.bin - $9) <= $10 or abs(r.bin - $9) between $11 and $12) as near,
        array_agg(r.n order by r.n) filter (where r.far) as far_n,
        array_agg(r.t order by r.n) filter (where r.far) as far_t
    from (
        select
            e.maker, e.n, e.t,
            case when e.n <> all (array(select a.n from aside as a where a.quantity = $1)) then floor(e.t / $8) end as bin,
            abs(e.t) > $13 or $14 and (
                abs(e.residual + e.maker_lone) > $15
                or abs(e.residual + e.core_batch_lone) > $15
                or abs(e.residual + e.strand_batch_lone) > $15
                or abs(e.residual + e.shot_batch_lone) > $15
                or abs(e.residual + e.product_lone) > $15
            ) as far
        from (
            select
                l.maker, l.n, l.residual, l.residual / sqrt(l.variance) as t, l.maker_lone, l.core_batch_lone,
                l.strand_batch_lone, l.shot_batch_lone, l.product_lone
            from (
                select
                    b.maker, b.n, b.variance, b.maker_lone, b.core_batch_lone, b.strand_batch_lone, b.shot_batch_lone,
                    b.product_lone,
                    b.y - $2 - b.maker_value - b.core_batch_value - b.strand_batch_value - b.shot_batch_value
                        - b.product_value as residual
                from residual_build as b
                where b.fit = (select k.fit from fit_key as k) and b.quantity = $1
            ) as l
        ) as e
    ) as r
    group by r.maker, r.bin
), other as (
    select r.bin, count(*) as rows,
        array_agg(r.t) filter (where abs(r.bin - $9) <= $10 or abs(r.bin - $9) between $11 and $12) as near,
        array_agg(r.n order by r.n) filter (where r.far) as far_n,
        array_agg(r.t order by r.n) filter (where r.far) as far_t
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
                    c.n,
                    a.n is null as kept,
                    c.y - $2 - ma.value - co.value - st.value - sh.value - pr.value as residual,
                    1 + ma.theta2 + co.theta2 + st.theta2 + sh.theta2 + pr.theta2 as variance,
                    ma.lone as maker_lone,
                    co.lone as core_batch_lone,
                    st.lone as strand_batch_lone,
                    sh.lone as shot_batch_lone,
                    pr.lone as product_lone
                from (
                    select n, maker, core_batch, strand_batch, shot_batch, product,
                        case $1 when 'shot' then shot_y when 'body' then body_y end as y,
                        case $1 when 'shot' then shot_out when 'body' then body_out end as reason
                    from compared
                ) as c
                join fitted_level as ma on ma.quantity = $1 and ma.effect = 'maker'
                    and ma.level = c.maker * cast(cast($3 as boolean) as integer)
                join fitted_level as co on co.quantity = $1 and co.effect = 'core_batch'
                    and co.level = c.core_batch * cast(cast($4 as boolean) as integer)
                join fitted_level as st on st.quantity = $1 and st.effect = 'strand_batch'
                    and st.level = c.strand_batch * cast(cast($5 as boolean) as integer)
                join fitted_level as sh on sh.quantity = $1 and sh.effect = 'shot_batch'
                    and sh.level = c.shot_batch * cast(cast($6 as boolean) as integer)
                join fitted_level as pr on pr.quantity = $1 and pr.effect = 'product'
                    and pr.level = c.product * cast(cast($7 as boolean) as integer)
                left join aside as a on a.quantity = $1 and a.n = c.n
                where c.y is not null and c.reason is null
            ) as l
        ) as e
    ) as r
    group by r.bin
)
select bin, rows, near, far_n, far_t
from (
    select bin, rows, near, far_n, far_t from build
    union all
    select bin, rows, near, far_n, far_t from other
) as r
order by bin;
