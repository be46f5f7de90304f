-- Sums up the eligible observations of the quantity shown that the fit did not leave out: the
-- servers sum up builds, each its own.
-- Parameters: $1 quantity; $2 to $6 whether maker, core batch, strand batch, shot batch,
-- product are effects of the quantity.
-- Columns: whether builds, maker, core batch, strand batch, shot batch, product (0: blank, or
-- not an effect), number, mean of y, sum of squares about it; ordered by builds first, levels.
with part as (
    select o.maker, o.maker_level, o.core_batch, o.strand_batch, o.shot_batch, o.product, count(*) as rows, avg(o.y) as mean,
        var_pop(o.y) as variance
    from (
        select b.maker, b.y,
            case when $2 then b.maker_level end as maker_level,
            case when $3 then b.core_batch end as core_batch,
            case when $4 then b.strand_batch end as strand_batch,
            case when $5 then b.shot_batch end as shot_batch,
            case when $6 then b.product end as product
        from observed_build as b
        where b.fit = (select k.fit from fit_key as k) and b.quantity = $1 and b.eligible
            and b.n <> all (array(select a.n from aside as a where a.quantity = $1))
    ) as o
    group by o.maker, o.maker_level, o.core_batch, o.strand_batch, o.shot_batch, o.product
), cell as (
    select true as built,
        coalesce(ma.n, 0) as maker,
        coalesce(co.n, 0) as core_batch,
        coalesce(st.n, 0) as strand_batch,
        coalesce(sh.n, 0) as shot_batch,
        coalesce(pr.n, 0) as product,
        o.rows, o.mean, o.variance
    from part as o
    left join level as ma on ma.effect = 'maker' and ma.label = o.maker_level
    left join level as co on co.effect = 'core_batch' and co.label = o.core_batch
    left join level as st on st.effect = 'strand_batch' and st.label = o.strand_batch
    left join level as sh on sh.effect = 'shot_batch' and sh.label = o.shot_batch
    left join level as pr on pr.effect = 'product' and pr.label = o.product
    union all
    select false,
        case when $2 then c.maker else 0 end,
        case when $3 then c.core_batch else 0 end,
        case when $4 then c.strand_batch else 0 end,
        case when $5 then c.shot_batch else 0 end,
        case when $6 then c.product else 0 end,
        1, case $1 when 'shot' then c.shot_y else c.body_y end, 0
    from compared as c
    left join aside as a on a.quantity = $1 and a.n = c.n
    where a.n is null
        and case $1 when 'shot' then c.shot_y is not null and c.shot_out is null when 'body' then c.body_y is not null and c.body_out is null else false end
), centred as (
    select built, maker, core_batch, strand_batch, shot_batch, product, rows, mean, variance,
        sum(rows * mean) over cells / sum(rows) over cells as middle
    from cell
    window cells as (partition by built, maker, core_batch, strand_batch, shot_batch, product)
)
select built, maker, core_batch, strand_batch, shot_batch, product,
    cast(sum(rows) as bigint), min(middle), sum(rows * (variance + (mean - middle) * (mean - middle)))
from centred
group by built, maker, core_batch, strand_batch, shot_batch, product
order by built desc, maker, core_batch, strand_batch, shot_batch, product;
