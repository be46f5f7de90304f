-- Copies the plans into a temporary table of the same name, see build_shadow.
-- Parameters: none.
-- Columns: those of open_build.
create temporary table open_build as
select
    id, saved_at, started, product, maker, core_batch, strand_batch, shot_batch, predicted_weight_g,
    predicted_length_mm, predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor,
    length_factor, load_length_mm, target_weight_g, finished_at, finished_by
from open_build;
