-- Loads a batch of cord checks.
-- Parameters: none; the batch is the table appended.
-- Columns: those of staged_cord_check.
insert into staged_cord_check (
    id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, line
)
select
    id, date, strand_batch, checked_length_mm, checked_mass_g, predicted_mass_g, note, line
from appended;
