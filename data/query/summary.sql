-- Counts the rows.
-- Parameters: $1 the last date.
-- Columns: builds, test fills, cord checks, the last date there is (NULL: no rows), builds
-- with weight and its base, those of them with shot and its base, the median load in g/mm
-- (NULL: none stated).
select
    (select count(*) from build where date <= $1),
    (select count(*) from fill where date <= $1),
    (select count(*) from cord_check where date <= $1),
    (
        select max(date)
        from (
            select max(date) as date from build where date <= $1
            union all
            select max(date) as date from fill where date <= $1
            union all
            select max(date) as date from cord_check where date <= $1
        ) as d
    ),
    (select count(*) from build_ratio where date <= $1 and weight_y is not null),
    (
        select count(*)
        from build_ratio
        where date <= $1 and weight_y is not null and shot_y is not null
    ),
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
    );
