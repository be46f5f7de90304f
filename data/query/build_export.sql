-- The builds as the log holds them, for Parquet.
-- Parameters: none.
-- Columns: those of build; ordered by date then id.
select
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent,
    set_aside, note, computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm,
    parts_version, source, line
from build
order by date, id;
