-- Reads one build as it was stated: figures that were worked out at import stay blank.
-- Parameters: $1 the id.
-- Columns: those a file can state, the name of the file and the line.
select
    b.id, b.date, b.maker, b.product, b.core_batch, b.strand_batch, b.shot_batch, b.predicted_weight_g,
    b.predicted_length_mm, b.predicted_shot_g, b.predicted_strand_mm, b.calibration, b.shot_factor,
    b.body_factor, b.length_factor, b.weight_g, b.length_mm, b.shot_used_g, b.strand_cut_mm,
    b.strand_left_mm, b.load_length_mm, b.started, b.humidity_percent, b.set_aside, b.note, f.name, b.line
from build as b
join source as f on f.number = b.source
where b.id = $1;
