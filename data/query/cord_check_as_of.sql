-- The cord checks as the log held them when a file was the newest.
-- A figure that is worked out came at the earliest when there were parts lists.
-- Parameters: $1 number of that source.
-- Columns: those of cord_check; ordered by date, then id.
select
    v.id, v.date, v.strand_batch, v.checked_length_mm, v.checked_mass_g, v.predicted_mass_g, v.note,
    case when k.parts then v.computed_mass_g end as computed_mass_g,
    case when k.parts then v.parts_version end as parts_version,
    v.source, v.line
from (
    select
        id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, computed_mass_g,
        parts_version, source, line
    from cord_check
    where source <= $1
    union all
    select
        id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, computed_mass_g,
        parts_version, source, line
    from cord_check_history
    where source <= $1 and replaced_by > $1
) as v
cross join (
    select exists (select 1 from row_version as r where r.kind = 'parts' and r.source <= $1) as parts
) as k
order by v.date, v.id;
