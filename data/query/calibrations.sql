-- Lists the calibrations.
-- Parameters: none.
-- Columns: number, fingerprint, options, date of the last row, time, result; ordered by number.
select number, fingerprint, options, through, made_at, result
from calibration
order by number;
