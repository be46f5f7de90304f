-- Lists the parts lists of products of which an import has builds that leave a prediction
-- blank.
-- Parameters: $1 number of the import's first source.
-- Columns: those of a part as a file states them, version of the list; ordered by product,
-- position.
select
    b.product, b.position, b.part, b.role, b.material, b.count, b.diameter_mm, b.tip_diameter_mm, b.length_mm,
    b.start_mm, b.load_length_mm, b.bore_mm, b.shot, b.shot_diameter_mm, b.density_g_cm3, b.strands,
    b.strand_width_mm, b.strand_thickness_mm, b.drop_angle_deg, b.tail_mm, b.unloaded_diameter_mm,
    b.sheath_angle_deg, b.sheath_thickness_mm, b.mass_per_length_g_m, b.mass_g, b.fraction, b.version
from part as b
where b.product in (
    select p.product
    from build as p
    where p.source >= $1
        and (
            p.predicted_weight_g is null
            or p.predicted_length_mm is null
            or p.predicted_shot_g is null
            or p.predicted_strand_mm is null
        )
)
order by b.product, b.position;
