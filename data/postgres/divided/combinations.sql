-- Lists the combinations of levels seen in builds and, for shot, in test fills, measured or
-- not. The servers list those of builds.
-- Parameters: $1 quantity; $2 to $6 whether maker, core batch, strand batch, shot batch,
-- product are wanted.
-- Columns: maker, core batch, strand batch, shot batch, product (0: not wanted); ordered.
-- A combination with a wanted label that is blank is left out.
select distinct
    case when $2 then maker else 0 end as maker,
    case when $3 then core_batch else 0 end as core_batch,
    case when $4 then strand_batch else 0 end as strand_batch,
    case when $5 then shot_batch else 0 end as shot_batch,
    case when $6 then product else 0 end as product
from (
    select c.maker, c.core_batch, c.strand_batch, c.shot_batch, c.product
    from compared as c
    where $1 = 'shot' and c.core_batch > 0
    union all
    select coalesce(ma.n, 0), coalesce(co.n, 0), coalesce(st.n, 0), coalesce(sh.n, 0), coalesce(pr.n, 0)
    from (
        select b.maker, b.maker_level, b.core_batch, b.strand_batch, b.shot_batch, b.product
        from (
            select maker,
                case when $2 then maker_level end as maker_level,
                case when $3 then core_batch end as core_batch,
                case when $4 then strand_batch end as strand_batch,
                case when $5 then shot_batch end as shot_batch,
                case when $6 then product end as product
            from compared_build
            where fit = (select k.fit from fit_key as k)
        ) as b
        group by b.maker, b.maker_level, b.core_batch, b.strand_batch, b.shot_batch, b.product
        having count(*) > 0 -- always: a condition on groups has the planner expect fewer of them than rows
    ) as o
    left join level as ma on ma.effect = 'maker' and ma.label = o.maker_level
    left join level as co on co.effect = 'core_batch' and co.label = o.core_batch
    left join level as st on st.effect = 'strand_batch' and st.label = o.strand_batch
    left join level as sh on sh.effect = 'shot_batch' and sh.label = o.shot_batch
    left join level as pr on pr.effect = 'product' and pr.label = o.product
) as l
where (not $2 or maker > 0)
    and (not $3 or core_batch > 0)
    and (not $4 or strand_batch > 0)
    and (not $5 or shot_batch > 0)
    and (not $6 or product > 0)
order by maker, core_batch, strand_batch, shot_batch, product;
