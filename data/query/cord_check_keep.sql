-- Copies cord checks that are about to be replaced into the history.
-- Parameters: $1 time of the import, $2 number of the source that replaces them.
-- Columns: those of cord_check_history.
insert into cord_check_history (
    id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, computed_mass_g,
    parts_version, source, line, replaced_at, replaced_by
)
select
    b.id, b.date, b.strand_batch, b.checked_length_mm, b.checked_mass_g, b.predicted_mass_g, b.note,
    b.computed_mass_g, b.parts_version, b.source, b.line, $1, $2
from cord_check as b
where b.id in (
    select s.id
    from verdict as v
    join staged_cord_check as s on s.line = v.line
    where v.differs
);
