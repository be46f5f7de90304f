-- Adds the staged test fills whose id the log does not have.
-- Parameters: $1 number of the source.
-- Columns: those of fill.
insert into fill (
    id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
    computed_shot_g, parts_version, source, line
)
select
    s.id, s.date, s.maker, s.core_batch, s.shot_batch, s.filled_length_mm, s.shot_mass_g, s.predicted_shot_g,
    s.note, s.computed_shot_g, s.parts_version, $1, s.line
from staged_fill as s
where not exists (select 1 from fill as b where b.id = s.id)
    and s.line not in (select r.line from repeated as r);
