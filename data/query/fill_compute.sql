-- Works out the base figure of test fills that state none: their length times the planner's
-- load per length, the median over builds that state both (factors taken out).
-- Parameters: none.
-- Columns: none.
update fill
set computed_shot_g = filled_length_mm * l.load_g_mm
from (
    select percentile_cont(0.5) within group (
        order by predicted_shot_g / coalesce(shot_factor, 1) / load_length_mm
    ) as load_g_mm
    from build
    where predicted_shot_g is not null and load_length_mm > 0
) as l
where predicted_shot_g is null and computed_shot_g is null and l.load_g_mm is not null;
