-- The parts as the log holds them, for Parquet.
-- Parameters: none.
-- Columns: those of part; ordered by product then position.
select
    product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
    load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
    strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
    mass_per_length_g_m, mass_g, fraction, version, source, line
from part
order by product, position;
