-- Lists staged test fills that differ from what the log has: both rows, side by side.
-- Parameters: none.
-- Columns: the staged row with its line, then the row in the log with its source and line; ordered by line.
select
    s.id, s.date, s.maker, s.core_batch, s.shot_batch, s.filled_length_mm, s.shot_mass_g, s.predicted_shot_g,
    s.note, s.line,
    b.id, b.date, b.maker, b.core_batch, b.shot_batch, b.filled_length_mm, b.shot_mass_g, b.predicted_shot_g,
    b.note, b.source, b.line
from verdict as v
join staged_fill as s on s.line = v.line
join fill as b on b.id = s.id
where v.differs
order by s.line;
