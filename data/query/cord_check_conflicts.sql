-- Lists staged cord checks that differ from what the log has: both rows, side by side.
-- Parameters: none.
-- Columns: the staged row with its line, then the row in the log with its source and line; ordered by line.
select
    s.id, s.date, s.strand_batch, s.checked_length_mm, s.checked_mass_g, s.predicted_mass_g, s.note, s.line,
    b.id, b.date, b.strand_batch, b.checked_length_mm, b.checked_mass_g, b.predicted_mass_g, b.note, b.source,
    b.line
from verdict as v
join staged_cord_check as s on s.line = v.line
join cord_check as b on b.id = s.id
where v.differs
order by s.line;
