-- Notes the builds of the file that name a calibration and state a factor: what they leave
-- blank and the log does not have is 1.
-- Parameters: none.
-- Columns: line.
create temporary table factor_given as
select line
from staged_build
where calibration is not null
    and coalesce(shot_factor, body_factor, length_factor) is not null;
