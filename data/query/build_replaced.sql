-- Lists the builds that amendments replaced.
-- Parameters: $1 the id ('': all).
-- Columns: the row as it was, the name of its file and its line; when it was replaced and by which file.
select
    b.id, b.date, b.maker, b.product, b.core_batch, b.strand_batch, b.shot_batch, b.predicted_weight_g,
    b.predicted_length_mm, b.predicted_shot_g, b.predicted_strand_mm, b.calibration, b.shot_factor,
    b.body_factor, b.length_factor, b.weight_g, b.length_mm, b.shot_used_g, b.strand_cut_mm, b.strand_left_mm,
    b.load_length_mm, b.started, b.humidity_percent, b.set_aside, b.note, f.name, b.line, b.replaced_at,
    g.name
from build_history as b
join source as f on f.number = b.source
join source as g on g.number = b.replaced_by
where $1 = '' or b.id = $1
order by b.replaced_by, b.id, b.line;
