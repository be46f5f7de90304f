-- Lists the factors of a calibration.
-- Parameters: $1 number of the calibration.
-- Columns: quantity, maker, core batch, strand batch, shot batch, product, factor; ordered by
-- these.
select quantity, maker, core_batch, strand_batch, shot_batch, product, factor
from calibration_factor
where number = $1
order by quantity, maker, core_batch, strand_batch, shot_batch, product, factor;
