-- Lists the parts of lists that amendments replaced.
-- Parameters: $1 the product ('': all).
-- Columns: the part as it was, the name of its file and its line; when it was replaced and by which file.
select
    b.product, b.position, b.part, b.role, b.material, b.count, b.diameter_mm, b.tip_diameter_mm, b.length_mm,
    b.start_mm, b.load_length_mm, b.bore_mm, b.shot, b.shot_diameter_mm, b.density_g_cm3, b.strands,
    b.strand_width_mm, b.strand_thickness_mm, b.drop_angle_deg, b.tail_mm, b.unloaded_diameter_mm,
    b.sheath_angle_deg, b.sheath_thickness_mm, b.mass_per_length_g_m, b.mass_g, b.fraction, f.name, b.line,
    b.replaced_at, g.name
from part_history as b
join source as f on f.number = b.source
join source as g on g.number = b.replaced_by
where $1 = '' or b.product = $1
order by b.replaced_by, b.product, b.version, b.position;
