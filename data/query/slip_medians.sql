-- The ordinary ratio of every measured column: what a slip is set against.
-- Parameters: none.
-- Columns: kind, column, median of measured/base over the rows that are no slip; ordered.
select kind, measured, exp(percentile_cont(0.5) within group (order by y))
from (
    select 'builds' as kind, 'weight' as measured, weight_y as y
    from build_ratio
    where weight_y is not null and not weight_slip
    union all
    select 'builds' as kind, 'length' as measured, length_y as y
    from build_ratio
    where length_y is not null and not length_slip
    union all
    select 'builds' as kind, 'shot_used' as measured, shot_y as y
    from build_ratio
    where shot_y is not null and not shot_slip
    union all
    select 'builds' as kind, 'strand_cut' as measured, strand_y as y
    from build_ratio
    where strand_y is not null and not strand_slip
    union all
    select 'fills' as kind, 'shot_mass' as measured, y as y
    from fill_ratio
    where y is not null and not slip
    union all
    select 'checks' as kind, 'checked_mass' as measured, y as y
    from cord_check_ratio
    where y is not null and not slip
) as m
group by kind, measured
order by kind, measured;
