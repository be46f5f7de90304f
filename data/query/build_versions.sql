-- Lists the builds there are and those that amendments replaced.
-- Parameters: none.
-- Columns: as it was stated; the name of the file, blank where it is not kept, the line,
-- number of the file, number of the file that replaced the row, NULL where none did; base
-- weight (g), length (mm), shot (g) and strand (mm) that were worked out, NULL where none was;
-- version of the parts list. Ordered by number of the file, line.
select
    v.id, v.date, v.maker, v.product, v.core_batch, v.strand_batch, v.shot_batch, v.predicted_weight_g,
    v.predicted_length_mm, v.predicted_shot_g, v.predicted_strand_mm, v.calibration, v.shot_factor,
    v.body_factor, v.length_factor, v.weight_g, v.length_mm, v.shot_used_g, v.strand_cut_mm, v.strand_left_mm,
    v.load_length_mm, v.started, v.humidity_percent, v.set_aside, v.note, coalesce(f.name, ''), v.line,
    v.source, v.replaced_by,
    v.computed_weight_g, v.computed_length_mm, v.computed_shot_g, v.computed_strand_mm, v.parts_version
from (
    select
        id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
        predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
        length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent, set_aside,
        note, computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm, parts_version, source,
        line, cast(null as integer) as replaced_by
    from build
    union all
    select
        id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g, predicted_length_mm,
        predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor, length_factor, weight_g,
        length_mm, shot_used_g, strand_cut_mm, strand_left_mm, load_length_mm, started, humidity_percent, set_aside,
        note, computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm, parts_version, source,
        line, replaced_by
    from build_history
) as v
left join source as f on f.number = v.source
order by v.source, v.line;
