-- Adds the staged cord checks whose id the log does not have.
-- Parameters: $1 number of the source.
-- Columns: those of cord_check.
insert into cord_check (
    id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, computed_mass_g,
    parts_version, source, line
)
select
    s.id, s.date, s.strand_batch, s.checked_length_mm, s.checked_mass_g, s.predicted_mass_g, s.note,
    s.computed_mass_g, s.parts_version, $1, s.line
from staged_cord_check as s
where not exists (select 1 from cord_check as b where b.id = s.id)
    and s.line not in (select r.line from repeated as r);
