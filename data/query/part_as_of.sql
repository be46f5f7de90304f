-- The parts as the log held them when a file was the newest.
-- Parameters: $1 number of that source.
-- Columns: those of part; ordered by product, then position.
select
    product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
    load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
    strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
    mass_per_length_g_m, mass_g, fraction, version, source, line
from part
where source <= $1
union all
select
    product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
    load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
    strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
    mass_per_length_g_m, mass_g, fraction, version, source, line
from part_history
where source <= $1 and replaced_by > $1
order by product, position;
