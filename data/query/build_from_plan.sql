-- Fills in what builds of the file leave blank from the plans of their ids. Finished plans
-- serve too, unless the build has become one of another product: the same row again, or a
-- correction of it, stands for the same build.
-- Parameters: none.
-- Columns: none.
update staged_build
set
    core_batch = coalesce(staged_build.core_batch, p.core_batch),
    strand_batch = coalesce(staged_build.strand_batch, p.strand_batch),
    shot_batch = coalesce(staged_build.shot_batch, p.shot_batch),
    predicted_weight_g = coalesce(staged_build.predicted_weight_g, p.predicted_weight_g),
    predicted_length_mm = coalesce(staged_build.predicted_length_mm, p.predicted_length_mm),
    predicted_shot_g = coalesce(staged_build.predicted_shot_g, p.predicted_shot_g),
    predicted_strand_mm = coalesce(staged_build.predicted_strand_mm, p.predicted_strand_mm),
    calibration = coalesce(staged_build.calibration, p.calibration),
    shot_factor = coalesce(staged_build.shot_factor, p.shot_factor),
    body_factor = coalesce(staged_build.body_factor, p.body_factor),
    length_factor = coalesce(staged_build.length_factor, p.length_factor),
    load_length_mm = coalesce(staged_build.load_length_mm, p.load_length_mm),
    started = coalesce(staged_build.started, p.started)
from open_build as p
where p.id = staged_build.id and p.product = staged_build.product;
