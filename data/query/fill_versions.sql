-- Lists the test fills there are and those that amendments replaced.
-- Parameters: none.
-- Columns: as it was stated; the name of the file, blank where it is not kept, the line,
-- number of the file, number of the file that replaced the row, NULL where none did; base
-- weight, length, shot (g) and strand that were worked out, of which test fills have shot;
-- version of the parts lists. Ordered by number of the file, line.
select
    v.id, v.date, v.maker, v.core_batch, v.shot_batch, v.filled_length_mm, v.shot_mass_g, v.predicted_shot_g,
    v.note, coalesce(f.name, ''), v.line, v.source, v.replaced_by,
    cast(null as double precision), cast(null as double precision),
    v.computed_shot_g, cast(null as double precision), v.parts_version
from (
    select
        id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
        computed_shot_g, parts_version, source, line, cast(null as integer) as replaced_by
    from fill
    union all
    select
        id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
        computed_shot_g, parts_version, source, line, replaced_by
    from fill_history
) as v
left join source as f on f.number = v.source
order by v.source, v.line;
