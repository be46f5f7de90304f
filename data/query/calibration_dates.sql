-- Lists the calibrations without their results.
-- Parameters: none.
-- Columns: number, date of the last row; ordered by number.
select number, through
from calibration
order by number;
