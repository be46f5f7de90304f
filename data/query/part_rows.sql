-- Lists parts, by product then place.
-- Parameters: $1 the product ('': all).
-- Columns: as a file states them, the name of the file and the line.
select
    b.product, b.position, b.part, b.role, b.material, b.count, b.diameter_mm, b.tip_diameter_mm, b.length_mm,
    b.start_mm, b.load_length_mm, b.bore_mm, b.shot, b.shot_diameter_mm, b.density_g_cm3, b.strands,
    b.strand_width_mm, b.strand_thickness_mm, b.drop_angle_deg, b.tail_mm, b.unloaded_diameter_mm,
    b.sheath_angle_deg, b.sheath_thickness_mm, b.mass_per_length_g_m, b.mass_g, b.fraction, f.name, b.line
from part as b
join source as f on f.number = b.source
where $1 = '' or b.product = $1
order by b.product, b.position;
