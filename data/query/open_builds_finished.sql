-- Lists the plans whose builds came in.
-- Parameters: none.
-- Columns: those of open_build that a plan states; ordered by id.
select
    saved_at, id, started, product, maker, core_batch, strand_batch, shot_batch, predicted_weight_g,
    predicted_length_mm, predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor,
    length_factor, load_length_mm, target_weight_g
from open_build
where finished_at is not null
order by id;
