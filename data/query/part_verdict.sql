-- Says of every staged parts list whether the log has one of that product and whether it is
-- the same, part by part. A list is one thing: if one part differs, all its lines do.
-- Parameters: $1 is not used by parts: false.
-- Columns: line, other_source and other_line (where the log has its list from), differs.
insert into verdict (line, other_source, other_line, differs)
select s.line, o.source, o.line, l.differs
from staged_part as s
join (
    select coalesce(s.product, b.product) as product,
        bool_or(
            s.product is null
            or b.product is null
            or s.part is distinct from b.part
            or s.role is distinct from b.role
            or s.material is distinct from b.material
            or s.count is distinct from b.count
            or s.diameter_mm is distinct from b.diameter_mm
            or s.tip_diameter_mm is distinct from b.tip_diameter_mm
            or s.length_mm is distinct from b.length_mm
            or s.start_mm is distinct from b.start_mm
            or s.load_length_mm is distinct from b.load_length_mm
            or s.bore_mm is distinct from b.bore_mm
            or s.shot is distinct from b.shot
            or s.shot_diameter_mm is distinct from b.shot_diameter_mm
            or s.density_g_cm3 is distinct from b.density_g_cm3
            or s.strands is distinct from b.strands
            or s.strand_width_mm is distinct from b.strand_width_mm
            or s.strand_thickness_mm is distinct from b.strand_thickness_mm
            or s.drop_angle_deg is distinct from b.drop_angle_deg
            or s.tail_mm is distinct from b.tail_mm
            or s.unloaded_diameter_mm is distinct from b.unloaded_diameter_mm
            or s.sheath_angle_deg is distinct from b.sheath_angle_deg
            or s.sheath_thickness_mm is distinct from b.sheath_thickness_mm
            or s.mass_per_length_g_m is distinct from b.mass_per_length_g_m
            or s.mass_g is distinct from b.mass_g
            or s.fraction is distinct from b.fraction
        ) as differs
    from staged_part as s
    full outer join (
        select
            p.product, p.position, p.part, p.role, p.material, p.count, p.diameter_mm, p.tip_diameter_mm,
            p.length_mm, p.start_mm, p.load_length_mm, p.bore_mm, p.shot, p.shot_diameter_mm, p.density_g_cm3,
            p.strands, p.strand_width_mm, p.strand_thickness_mm, p.drop_angle_deg, p.tail_mm,
            p.unloaded_diameter_mm, p.sheath_angle_deg, p.sheath_thickness_mm, p.mass_per_length_g_m,
            p.mass_g, p.fraction
        from part as p
        where p.product in (select t.product from staged_part as t)
    ) as b on b.product = s.product and b.position = s.position
    group by coalesce(s.product, b.product)
) as l on l.product = s.product
join (
    select p.product, max(p.source) as source, min(p.line) as line
    from part as p
    group by p.product
) as o on o.product = s.product
where not $1;
