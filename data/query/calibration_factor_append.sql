-- Saves the factors of a calibration.
-- Parameters: none; the batch is the table appended.
-- Columns: those of calibration_factor.
insert into calibration_factor (
    number, quantity, maker, core_batch, strand_batch, shot_batch, product, factor
)
select number, quantity, maker, core_batch, strand_batch, shot_batch, product, factor
from appended;
