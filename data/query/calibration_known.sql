-- Finds the calibration of the same rows and options.
-- Parameters: $1 fingerprint, $2 options.
-- Columns: its number, 0 where there is none.
select coalesce(max(number), 0)
from calibration
where fingerprint = $1 and options = $2;
