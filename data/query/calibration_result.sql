-- Reads back the result of a calibration that is not kept in pieces.
-- Parameters: $1 number of the calibration.
-- Columns: the result; no row where it is kept in pieces.
select result
from calibration
where number = $1 and result is not null;
