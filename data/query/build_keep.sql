-- Copies builds that are about to be replaced into the history.
-- Parameters: $1 time of the import, $2 number of the source that replaces them.
-- Columns: those of build_history.
insert into build_history (
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
    predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
    length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent,
    set_aside, note, computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm,
    parts_version, source, line, replaced_at, replaced_by
)
select
    b.id, b.date, b.maker, b.product, b.core_batch, b.strand_batch, b.shot_batch, b.predicted_weight_g,
    b.predicted_length_mm, b.predicted_shot_g, b.predicted_strand_mm, b.calibration, b.shot_factor,
    b.body_factor, b.length_factor, b.weight_g, b.length_mm, b.shot_used_g, b.strand_cut_mm, b.strand_left_mm,
    b.load_length_mm, b.started, b.humidity_percent, b.set_aside, b.note, b.computed_weight_g,
    b.computed_length_mm, b.computed_shot_g, b.computed_strand_mm, b.parts_version, b.source, b.line, $1, $2
from build as b
where b.id in (
    select s.id
    from verdict as v
    join staged_build as s on s.line = v.line
    where v.differs
);
