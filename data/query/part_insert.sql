-- Adds the staged parts lists of products that have none now; the version counts on from the
-- lists in the history.
-- Parameters: $1 number of the source.
-- Columns: those of part.
insert into part (
    product, position, part, role, material, count, diameter_mm, tip_diameter_mm, length_mm, start_mm,
    load_length_mm, bore_mm, shot, shot_diameter_mm, density_g_cm3, strands, strand_width_mm,
    strand_thickness_mm, drop_angle_deg, tail_mm, unloaded_diameter_mm, sheath_angle_deg, sheath_thickness_mm,
    mass_per_length_g_m, mass_g, fraction, version, source, line
)
select
    s.product, s.position, s.part, s.role, s.material, s.count, s.diameter_mm, s.tip_diameter_mm, s.length_mm,
    s.start_mm, s.load_length_mm, s.bore_mm, s.shot, s.shot_diameter_mm, s.density_g_cm3, s.strands,
    s.strand_width_mm, s.strand_thickness_mm, s.drop_angle_deg, s.tail_mm, s.unloaded_diameter_mm,
    s.sheath_angle_deg, s.sheath_thickness_mm, s.mass_per_length_g_m, s.mass_g, s.fraction,
    coalesce(h.version, 0) + 1, $1, s.line
from staged_part as s
left join (
    select product, max(version) as version
    from part_history
    group by product
) as h on h.product = s.product
where not exists (select 1 from part as b where b.product = s.product);
