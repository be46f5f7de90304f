-- Lists the calibrations.
-- Parameters: none.
-- Columns: number, fingerprint, options, date of the last row, time, version of the
-- program, number of the newest source then, where it was not noted by the time; ordered by number.
select c.number, c.fingerprint, c.options, c.through, c.made_at, c.program,
    coalesce(
        c.newest_source,
        (select max(s.number) from source as s where s.imported_at <= c.made_at),
        0
    )
from calibration as c
order by c.number;
