-- Adds a batch of builds that are known to be new to the log.
-- Parameters: none; the batch is the table appended.
-- Columns: those of build that a file can state, number of the source, line.
insert into build (
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent,
    set_aside, note, source, line
)
select
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent,
    set_aside, note, source, line
from appended;
