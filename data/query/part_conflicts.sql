-- Lists the staged parts of lists that differ from what the log has, each beside the part of
-- the same place in the log (NULL where its list is shorter).
-- Parameters: none.
-- Columns: the staged part with its line, then the part in the log with the source and line of its list; ordered by line.
select
    s.product, s.position, s.part, s.role, s.material, s.count, s.diameter_mm, s.tip_diameter_mm, s.length_mm,
    s.start_mm, s.load_length_mm, s.bore_mm, s.shot, s.shot_diameter_mm, s.density_g_cm3, s.strands,
    s.strand_width_mm, s.strand_thickness_mm, s.drop_angle_deg, s.tail_mm, s.unloaded_diameter_mm,
    s.sheath_angle_deg, s.sheath_thickness_mm, s.mass_per_length_g_m, s.mass_g, s.fraction, s.line,
    b.product, b.position, b.part, b.role, b.material, b.count, b.diameter_mm, b.tip_diameter_mm, b.length_mm,
    b.start_mm, b.load_length_mm, b.bore_mm, b.shot, b.shot_diameter_mm, b.density_g_cm3, b.strands,
    b.strand_width_mm, b.strand_thickness_mm, b.drop_angle_deg, b.tail_mm, b.unloaded_diameter_mm,
    b.sheath_angle_deg, b.sheath_thickness_mm, b.mass_per_length_g_m, b.mass_g, b.fraction, v.other_source,
    v.other_line
from verdict as v
join staged_part as s on s.line = v.line
left join part as b on b.product = s.product and b.position = s.position
where v.differs
order by s.line;
