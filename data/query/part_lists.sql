-- Lists the parts lists as they are now.
-- Parameters: none.
-- Columns: those of a part as a file states them, the name of the file and the line, version
-- of the list; ordered by product, position.
select
    b.product, b.position, b.part, b.role, b.material, b.count, b.diameter_mm, b.tip_diameter_mm, b.length_mm,
    b.start_mm, b.load_length_mm, b.bore_mm, b.shot, b.shot_diameter_mm, b.density_g_cm3, b.strands,
    b.strand_width_mm, b.strand_thickness_mm, b.drop_angle_deg, b.tail_mm, b.unloaded_diameter_mm,
    b.sheath_angle_deg, b.sheath_thickness_mm, b.mass_per_length_g_m, b.mass_g, b.fraction, f.name, b.line,
    b.version
from part as b
join source as f on f.number = b.source
order by b.product, b.position;
