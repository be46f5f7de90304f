-- Copies test fills that are about to be replaced into the history.
-- Parameters: $1 time of the import, $2 number of the source that replaces them.
-- Columns: those of fill_history.
insert into fill_history (
    id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
    computed_shot_g, parts_version, source, line, replaced_at, replaced_by
)
select
    b.id, b.date, b.maker, b.core_batch, b.shot_batch, b.filled_length_mm, b.shot_mass_g, b.predicted_shot_g,
    b.note, b.computed_shot_g, b.parts_version, b.source, b.line, $1, $2
from fill as b
where b.id in (
    select s.id
    from verdict as v
    join staged_fill as s on s.line = v.line
    where v.differs
);
