-- Counts the staged builds that name a calibration.
-- Parameters: none.
-- Columns: the number.
select count(*)
from staged_build
where calibration is not null;
