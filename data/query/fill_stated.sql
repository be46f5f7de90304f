-- Reads one test fill as it was stated: figures that were worked out at import stay blank.
-- Parameters: $1 the id.
-- Columns: those a file can state, the name of the file and the line.
select
    b.id, b.date, b.maker, b.core_batch, b.shot_batch, b.filled_length_mm, b.shot_mass_g,
    b.predicted_shot_g, b.note, f.name, b.line
from fill as b
join source as f on f.number = b.source
where b.id = $1;
