-- Lists the cord checks there are and those that amendments replaced.
-- Parameters: none.
-- Columns: as it was stated; the name of the file, blank where it is not kept, the line,
-- number of the file, number of the file that replaced the row, NULL where none did; base
-- weight (g), length, shot and strand that were worked out, of which cord checks have weight;
-- version of the parts lists. Ordered by number of the file, line.
select
    v.id, v.date, v.strand_batch, v.checked_length_mm, v.checked_mass_g, v.predicted_mass_g, v.note,
    coalesce(f.name, ''), v.line, v.source, v.replaced_by,
    v.computed_mass_g, cast(null as double precision),
    cast(null as double precision), cast(null as double precision), v.parts_version
from (
    select
        id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, computed_mass_g,
        parts_version, source, line, cast(null as integer) as replaced_by
    from cord_check
    union all
    select
        id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, computed_mass_g,
        parts_version, source, line, replaced_by
    from cord_check_history
) as v
left join source as f on f.number = v.source
order by v.source, v.line;
