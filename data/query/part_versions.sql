-- Lists the parts there are and those that amendments replaced.
-- Parameters: none.
-- Columns: as it was stated; the name of the file, blank where it is not kept, the line,
-- number of the file, number of the file that replaced the row, NULL where none did; four
-- columns that parts leave NULL; version of the parts list. Ordered by number of the file,
-- line.
select
    v.product, v.position, v.part, v.role, v.material, v.count, v.diameter_mm, v.tip_diameter_mm, v.length_mm,
    v.start_mm, v.load_length_mm, v.bore_mm, v.shot, v.shot_diameter_mm, v.density_g_cm3, v.strands,
    v.strand_width_mm, v.strand_thickness_mm, v.drop_angle_deg, v.tail_mm, v.unloaded_diameter_mm,
    v.sheath_angle_deg, v.sheath_thickness_mm, v.mass_per_length_g_m, v.mass_g, v.fraction,
    coalesce(f.name, ''), v.line, v.source, v.replaced_by,
    cast(null as double precision), cast(null as double precision),
    cast(null as double precision), cast(null as double precision), v.version
from (
    select
        product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
        load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
        strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
        mass_per_length_g_m, mass_g, fraction, version, source, line, cast(null as integer) as replaced_by
    from part
    union all
    select
        product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
        load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
        strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
        mass_per_length_g_m, mass_g, fraction, version, source, line, replaced_by
    from part_history
) as v
left join source as f on f.number = v.source
order by v.source, v.line;
