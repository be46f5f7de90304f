-- Counts the rows.
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
            select predicted_shot_g / coalesce(shot_factor, 1) / load_length_mm as load_g_mm
            from build
            where date <= $1 and predicted_shot_g is not null and load_length_mm > 0
            union all
            select predicted_shot_g / filled_length_mm as load_g_mm
            from fill
            where date <= $1 and predicted_shot_g is not null
        ) as l
    )
from (
    select
        count(*) as rows,
        max(date) as last,
        count(*) filter (where weight_g > 0 and weight_base_g > 0) as weighed,
        count(*) filter (
            where weight_g > 0 and weight_base_g > 0 and shot_used_g > 0 and shot_base_g > 0
        ) as split
    from build_base
    where date <= $1
) as b
cross join (select count(*) as rows, max(date) as last from fill where date <= $1) as f
cross join (select count(*) as rows, max(date) as last from cord_check where date <= $1) as c;
