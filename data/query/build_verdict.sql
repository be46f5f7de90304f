-- Compares the staged builds that the log has too with what it has.
-- Parameters: $1 true: lines that repeat an id of the same file, false: the others.
-- Columns: line, other_source and other_line (where the log has its row from), differs
-- (in any column but these two; NULL equals NULL).
insert into verdict (line, other_source, other_line, differs)
select s.line, b.source, b.line,
    (
        s.date is distinct from b.date
        or s.maker is distinct from b.maker
        or s.product is distinct from b.product
        or s.core_batch is distinct from b.core_batch
        or s.strand_batch is distinct from b.strand_batch
        or s.shot_batch is distinct from b.shot_batch
        or s.predicted_weight_g is distinct from b.predicted_weight_g
        or s.predicted_length_mm is distinct from b.predicted_length_mm
        or s.predicted_shot_g is distinct from b.predicted_shot_g
        or s.predicted_strand_mm is distinct from b.predicted_strand_mm
        or s.calibration is distinct from b.calibration
        or s.shot_factor is distinct from b.shot_factor
        or s.body_factor is distinct from b.body_factor
        or s.length_factor is distinct from b.length_factor
        or s.weight_g is distinct from b.weight_g
        or s.length_mm is distinct from b.length_mm
        or s.shot_used_g is distinct from b.shot_used_g
        or s.strand_cut_mm is distinct from b.strand_cut_mm
        or s.strand_left_mm is distinct from b.strand_left_mm
        or s.load_length_mm is distinct from b.load_length_mm
        or s.started is distinct from b.started
        or s.humidity_percent is distinct from b.humidity_percent
        or s.set_aside is distinct from b.set_aside
        or s.note is distinct from b.note
    )
from staged_build as s
join build as b on b.id = s.id
where (s.line in (select r.line from repeated as r)) = $1;
