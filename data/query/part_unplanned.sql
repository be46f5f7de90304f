-- Lists the parts lists of products of which an import has builds with a prediction that is
-- neither stated nor worked out yet.
-- Parameters: $1 number of the import's first source.
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
where exists (
    select 1
    from build as p
    where p.source >= $1 and p.product = b.product
        and (
            coalesce(p.predicted_weight_g, p.computed_weight_g) is null
            or coalesce(p.predicted_length_mm, p.computed_length_mm) is null
            or coalesce(p.predicted_shot_g, p.computed_shot_g) is null
            or coalesce(p.predicted_strand_mm, p.computed_strand_mm) is null
        )
)
order by b.product, b.position;
