-- Lists figures of test fills, replaced ones too, that are zero, negative or not finite.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'fills' as kind, v.id as id, 'has the ' || f.name || ' ' || cast(f.value as text) as detail
from (
    select
        id, filled_length_mm, shot_mass_g, predicted_shot_g, computed_shot_g
    from fill
    union all
    select
        id, filled_length_mm, shot_mass_g, predicted_shot_g, computed_shot_g
    from fill_history
) as v
cross join lateral (
    values
        ('filled_length_mm', v.filled_length_mm),
        ('shot_mass_g', v.shot_mass_g),
        ('predicted_shot_g', v.predicted_shot_g),
        ('computed_shot_g', v.computed_shot_g)
) as f (name, value)
where not (f.value > 0 and f.value < cast('infinity' as double precision))
order by id, detail;
