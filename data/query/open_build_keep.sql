-- Copies the open plan of a build into the history before it ends.
-- Parameters: $1 id, $2 time, $3 true: it is dropped, false: other figures take its place.
-- Columns: those of open_build_history.
insert into open_build_history (
    id, saved_at, started, product, maker, core_batch, strand_batch, shot_batch, predicted_weight_g,
    predicted_length_mm, predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor,
    length_factor, load_length_mm, target_weight_g, ended_at, dropped
)
select
    id, saved_at, started, product, maker, core_batch, strand_batch, shot_batch, predicted_weight_g,
    predicted_length_mm, predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor,
    length_factor, load_length_mm, target_weight_g, $2, $3
from open_build
where id = $1 and finished_at is null;
