-- Lists builds, by date then id.
-- Parameters: $1 the id ('': all), $2 the last date.
-- Columns: as a file states them, with figures that were worked out at import in their place;
-- the name of the file and the line.
select
    b.id, b.date, b.maker, b.product, b.core_batch, b.strand_batch, b.shot_batch,
    coalesce(b.predicted_weight_g, p.weight_planned_g), coalesce(b.predicted_length_mm, p.length_planned_mm),
    coalesce(b.predicted_shot_g, p.shot_planned_g), coalesce(b.predicted_strand_mm, p.strand_base_mm),
    b.calibration, b.shot_factor, b.body_factor, b.length_factor, b.weight_g, b.length_mm, b.shot_used_g,
    b.strand_cut_mm, b.strand_left_mm, b.load_length_mm, b.started, b.humidity_percent, b.set_aside, b.note,
    f.name, b.line
from build as b
join build_base as p on p.id = b.id
join source as f on f.number = b.source
where ($1 = '' or b.id = $1) and b.date <= $2
order by b.date, b.id;
