-- Lists cord checks, by date then id.
-- Parameters: $1 the id ('': all), $2 the last date.
-- Columns: as a file states them, with a figure that was worked out at import in its place; the name of
-- the file and the line.
select
    b.id, b.date, b.strand_batch, b.checked_length_mm, b.checked_mass_g, coalesce(b.predicted_mass_g, b.computed_mass_g),
    b.note, f.name,
    b.line
from cord_check as b
join source as f on f.number = b.source
where ($1 = '' or b.id = $1) and b.date <= $2
order by b.date, b.id;
