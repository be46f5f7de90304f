-- The builds as the log held them when a file was the newest.
-- Parameters: $1 number of that source.
-- Columns: those of build; ordered by date, then id.
select
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent, set_aside,
    note, computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm, parts_version, source,
    line
from build
where source <= $1
union all
select
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent, set_aside,
    note, computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm, parts_version, source,
    line
from build_history
where source <= $1 and replaced_by > $1
order by date, id;
