-- Reads one cord check as it was stated: figures that were worked out at import stay blank.
-- Parameters: $1 the id.
-- Columns: those a file can state, the name of the file and the line.
select
    b.id, b.date, b.strand_batch, b.checked_length_mm, b.checked_mass_g, b.predicted_mass_g, b.note, f.name,
    b.line
from cord_check as b
join source as f on f.number = b.source
where b.id = $1;
