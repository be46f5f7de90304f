-- Lists figures of parts, replaced ones too, that are negative, zero where
-- that means nothing, over their most, or not finite.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'parts' as kind, v.product as id, 'has the ' || f.name || ' ' || cast(f.value as text) as detail
from (
    select
        product, count, diameter_mm, tip_diameter_mm, length_mm, start_mm, load_length_mm, bore_mm,
        shot_diameter_mm, density_g_cm3, strands, strand_width_mm, strand_thickness_mm, drop_angle_deg, tail_mm,
        unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm, mass_per_length_g_m, mass_g, fraction
    from part
    union all
    select
        product, count, diameter_mm, tip_diameter_mm, length_mm, start_mm, load_length_mm, bore_mm,
        shot_diameter_mm, density_g_cm3, strands, strand_width_mm, strand_thickness_mm, drop_angle_deg, tail_mm,
        unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm, mass_per_length_g_m, mass_g, fraction
    from part_history
) as v
cross join lateral (
    values
        ('count', v.count, false, null),
        ('diameter_mm', v.diameter_mm, false, null),
        ('tip_diameter_mm', v.tip_diameter_mm, false, null),
        ('length_mm', v.length_mm, false, null),
        ('start_mm', v.start_mm, true, null),
        ('load_length_mm', v.load_length_mm, false, null),
        ('bore_mm', v.bore_mm, false, null),
        ('shot_diameter_mm', v.shot_diameter_mm, false, null),
        ('density_g_cm3', v.density_g_cm3, false, null),
        ('strands', v.strands, false, null),
        ('strand_width_mm', v.strand_width_mm, false, null),
        ('strand_thickness_mm', v.strand_thickness_mm, false, null),
        ('drop_angle_deg', v.drop_angle_deg, true, 90),
        ('tail_mm', v.tail_mm, true, null),
        ('unloaded_diameter_mm', v.unloaded_diameter_mm, false, null),
        ('sheath_angle_deg', v.sheath_angle_deg, true, 90),
        ('sheath_thickness_mm', v.sheath_thickness_mm, false, null),
        ('mass_per_length_g_m', v.mass_per_length_g_m, false, null),
        ('mass_g', v.mass_g, false, null),
        ('fraction', v.fraction, true, 1)
) as f (name, value, zero, most)
where not (
    (f.value > 0 or f.zero and f.value = 0)
    and f.value < cast('infinity' as double precision)
    and f.value <= coalesce(f.most, f.value)
)
order by id, detail;
