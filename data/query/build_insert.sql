-- Adds the staged builds but for those held back: see build_hold. Nothing else is asked of
-- them, so that DuckDB works on many at a time.
-- Parameters: $1 number of the source.
-- Columns: those of build.
insert into build (
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent,
    set_aside, note, computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm,
    parts_version, source, line
)
select
    s.id, s.date, s.maker, s.product, s.core_batch, s.strand_batch, s.shot_batch, s.predicted_weight_g,
    s.predicted_length_mm, s.predicted_shot_g, s.predicted_strand_mm, s.calibration, s.shot_factor,
    s.body_factor, s.length_factor, s.weight_g, s.length_mm, s.shot_used_g, s.strand_cut_mm, s.strand_left_mm,
    s.load_length_mm, s.started, s.humidity_percent, s.set_aside, s.note, s.computed_weight_g,
    s.computed_length_mm, s.computed_shot_g, s.computed_strand_mm, s.parts_version, $1, s.line
from staged_build as s
where s.held is null;
