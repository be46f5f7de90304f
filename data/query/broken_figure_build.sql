-- Lists figures of builds, replaced ones too, that are negative, zero where
-- that means nothing, over their most, or not finite.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'builds' as kind, v.id as id, 'has the ' || f.name || ' ' || cast(f.value as text) as detail
from (
    select
        id, predicted_weight_g, predicted_length_mm, predicted_shot_g, predicted_strand_mm, shot_factor,
        body_factor, length_factor, weight_g, length_mm, shot_used_g, strand_cut_mm, strand_left_mm,
        load_length_mm, humidity_percent, computed_weight_g, computed_length_mm, computed_shot_g,
        computed_strand_mm
    from build
    union all
    select
        id, predicted_weight_g, predicted_length_mm, predicted_shot_g, predicted_strand_mm, shot_factor,
        body_factor, length_factor, weight_g, length_mm, shot_used_g, strand_cut_mm, strand_left_mm,
        load_length_mm, humidity_percent, computed_weight_g, computed_length_mm, computed_shot_g,
        computed_strand_mm
    from build_history
) as v
cross join lateral (
    values
        ('predicted_weight_g', v.predicted_weight_g, false, null),
        ('predicted_length_mm', v.predicted_length_mm, false, null),
        ('predicted_shot_g', v.predicted_shot_g, false, null),
        ('predicted_strand_mm', v.predicted_strand_mm, false, null),
        ('shot_factor', v.shot_factor, false, null),
        ('body_factor', v.body_factor, false, null),
        ('length_factor', v.length_factor, false, null),
        ('weight_g', v.weight_g, false, null),
        ('length_mm', v.length_mm, false, null),
        ('shot_used_g', v.shot_used_g, false, null),
        ('strand_cut_mm', v.strand_cut_mm, false, null),
        ('strand_left_mm', v.strand_left_mm, true, null),
        ('load_length_mm', v.load_length_mm, false, null),
        ('humidity_percent', v.humidity_percent, true, 100),
        ('computed_weight_g', v.computed_weight_g, false, null),
        ('computed_length_mm', v.computed_length_mm, false, null),
        ('computed_shot_g', v.computed_shot_g, false, null),
        ('computed_strand_mm', v.computed_strand_mm, false, null)
) as f (name, value, zero, most)
where not (
    (f.value > 0 or f.zero and f.value = 0)
    and f.value < cast('infinity' as double precision)
    and f.value <= coalesce(f.most, f.value)
)
order by id, detail;
