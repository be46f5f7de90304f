-- Copies the cord checks into a temporary table of the same name, which statements then see
-- instead: a check merges into that and the log stays as it is.
-- Parameters: none.
-- Columns: those of cord_check.
create temporary table cord_check as
select
    id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, computed_mass_g,
    parts_version, source, line
from cord_check;
