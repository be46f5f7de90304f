-- Carries figures that were worked out over to the builds that replace those they were
-- worked out for: what is still blank, of the same product, keeps its figure and the version
-- of the parts list.
-- Parameters: none.
-- Columns: none.
update staged_build
set
    computed_weight_g = case when staged_build.predicted_weight_g is null then b.computed_weight_g end,
    computed_length_mm = case when staged_build.predicted_length_mm is null then b.computed_length_mm end,
    computed_shot_g = case when staged_build.predicted_shot_g is null then b.computed_shot_g end,
    computed_strand_mm = case when staged_build.predicted_strand_mm is null then b.computed_strand_mm end,
    parts_version = b.parts_version
from build as b
where b.id = staged_build.id and b.product = staged_build.product
    and (
        staged_build.predicted_weight_g is null and b.computed_weight_g is not null
        or staged_build.predicted_length_mm is null and b.computed_length_mm is not null
        or staged_build.predicted_shot_g is null and b.computed_shot_g is not null
        or staged_build.predicted_strand_mm is null and b.computed_strand_mm is not null
    );
