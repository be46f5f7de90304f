-- The cord checks as the log holds them, for Parquet.
-- Parameters: none.
-- Columns: those of cord_check; ordered by date then id.
select
    id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, computed_mass_g,
    parts_version, source, line
from cord_check
order by date, id;
