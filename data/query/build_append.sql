-- Loads a batch of builds.
-- Parameters: none; the batch is the table appended.
-- Columns: those of staged_build.
insert into staged_build (
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent,
    set_aside, note, line
)
select
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent,
    set_aside, note, line
from appended;
