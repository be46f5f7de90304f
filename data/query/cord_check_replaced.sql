-- Lists the cord checks that amendments replaced.
-- Parameters: $1 the id ('': all).
-- Columns: the row as it was, the name of its file and its line; when it was replaced and by which file.
select
    b.id, b.date, b.strand_batch, b.checked_length_mm, b.checked_mass_g, b.predicted_mass_g, b.note, f.name,
    b.line, b.replaced_at, g.name
from cord_check_history as b
join source as f on f.number = b.source
join source as g on g.number = b.replaced_by
where $1 = '' or b.id = $1
order by b.replaced_by, b.id, b.line;
