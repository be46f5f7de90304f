-- Copies parts lists that are about to be replaced into the history.
-- Parameters: $1 time of the import, $2 number of the source that replaces them.
-- Columns: those of part_history.
insert into part_history (
    product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
    load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
    strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
    mass_per_length_g_m, mass_g, fraction, version, source, line, replaced_at, replaced_by
)
select
    b.product, b.position, b.part, b.role, b.material, b.count, b.diameter_mm, b.tip_diameter_mm, b.length_mm,
    b.start_mm, b.load_length_mm, b.bore_mm, b.shot, b.shot_diameter_mm, b.density_g_cm3, b.strands,
    b.strand_width_mm, b.strand_thickness_mm, b.drop_angle_deg, b.tail_mm, b.unloaded_diameter_mm,
    b.sheath_angle_deg, b.sheath_thickness_mm, b.mass_per_length_g_m, b.mass_g, b.fraction, b.version,
    b.source, b.line, $1, $2
from part as b
where b.product in (
    select s.product
    from verdict as v
    join staged_part as s on s.line = v.line
    where v.differs
);
