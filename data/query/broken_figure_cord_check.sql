-- Lists figures of cord checks, replaced ones too, that are zero, negative or not finite.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'checks' as kind, v.id as id, 'has the ' || f.name || ' ' || cast(f.value as text) as detail
from (
    select
        id, checked_length_mm, checked_mass_g, predicted_mass_g, computed_mass_g
    from cord_check
    union all
    select
        id, checked_length_mm, checked_mass_g, predicted_mass_g, computed_mass_g
    from cord_check_history
) as v
cross join lateral (
    values
        ('checked_length_mm', v.checked_length_mm),
        ('checked_mass_g', v.checked_mass_g),
        ('predicted_mass_g', v.predicted_mass_g),
        ('computed_mass_g', v.computed_mass_g)
) as f (name, value)
where not (f.value > 0 and f.value < cast('infinity' as double precision))
order by id, detail;
