-- Lists the factors of all calibrations.
-- Parameters: none.
-- Columns: number, quantity, maker, core batch, strand batch, shot batch, product, factor;
-- ordered by these.
select number, quantity, maker, core_batch, strand_batch, shot_batch, product, factor
from calibration_factor
order by number, quantity, maker, core_batch, strand_batch, shot_batch, product, factor;
