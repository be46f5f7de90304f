-- Counts the rows; the servers count builds, and list their loads.
-- Parameters: $1 the last date.
-- Columns: builds, test fills, cord checks, the last date there is (NULL: no rows), builds
-- with weight and its base, those of them with shot and its base, the median load in g/mm
-- (NULL: none stated).
select
    b.rows,
    f.rows,
    c.rows,
    (
        select max(d.last)
        from (
            select b.last as last
            union all
            select f.last as last
            union all
            select c.last as last
        ) as d
    ),
    b.weighed,
    b.split,
    (
        select percentile_cont(0.5) within group (order by load_g_mm)
        from (
            select load_g_mm
            from load_build
            where date <= $1
            union all
            select predicted_shot_g / filled_length_mm as load_g_mm
            from fill
            where date <= $1 and predicted_shot_g is not null
        ) as l
    )
from (
    select
        cast(coalesce(sum(t.rows), 0) as bigint) as rows,
        max(t.last) as last,
        cast(coalesce(sum(t.weighed), 0) as bigint) as weighed,
        cast(coalesce(sum(t.split), 0) as bigint) as split
    from (
        select maker, count(*) as rows, max(date) as last, count(*) filter (where weighed) as weighed,
            count(*) filter (where split) as split
        from tally_build
        where date <= $1
        group by maker
    ) as t
) as b
cross join (select count(*) as rows, max(date) as last from fill where date <= $1) as f
cross join (select count(*) as rows, max(date) as last from cord_check where date <= $1) as c;
