-- The number of the next calibration.
-- Parameters: none.
-- Columns: the number.
select coalesce(max(number), 0) + 1
from calibration;
