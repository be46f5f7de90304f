-- Lists staged builds that differ from what the log has: both rows, side by side.
-- Parameters: none.
-- Columns: the staged row with its line, then the row in the log with its source and line; ordered by line.
select
    s.id, s.date, s.maker, s.product, s.core_batch, s.strand_batch, s.shot_batch, s.predicted_weight_g,
    s.predicted_length_mm, s.predicted_shot_g, s.predicted_strand_mm, s.calibration, s.shot_factor,
    s.body_factor, s.length_factor, s.weight_g, s.length_mm, s.shot_used_g, s.strand_cut_mm, s.strand_left_mm,
    s.load_length_mm, s.started, s.humidity_percent, s.set_aside, s.note, s.line,
    b.id, b.date, b.maker, b.product, b.core_batch, b.strand_batch, b.shot_batch, b.predicted_weight_g,
    b.predicted_length_mm, b.predicted_shot_g, b.predicted_strand_mm, b.calibration, b.shot_factor,
    b.body_factor, b.length_factor, b.weight_g, b.length_mm, b.shot_used_g, b.strand_cut_mm, b.strand_left_mm,
    b.load_length_mm, b.started, b.humidity_percent, b.set_aside, b.note, b.source, b.line
from verdict as v
join staged_build as s on s.line = v.line
join build as b on b.id = s.id
where v.differs
order by s.line;
