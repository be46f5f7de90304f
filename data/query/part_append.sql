-- Loads a batch of parts.
-- Parameters: none; the batch is the table appended.
-- Columns: those of staged_part.
insert into staged_part (
    product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
    load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
    strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
    mass_per_length_g_m, mass_g, fraction, line
)
select
    product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
    load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
    strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
    mass_per_length_g_m, mass_g, fraction, line
from appended;
