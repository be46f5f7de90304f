-- Loads a batch of test fills.
-- Parameters: none; the batch is the table appended.
-- Columns: those of staged_fill.
insert into staged_fill (
    id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note, line
)
select
    id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note, line
from appended;
