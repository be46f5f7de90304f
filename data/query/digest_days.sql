-- Counts the rows that fits read, day by day.
-- Parameters: $1 the last date.
-- Columns: date, rows; ordered by date.
select date, count(*)
from (
    select date from build where date <= $1
    union all
    select date from fill where date <= $1
    union all
    select date from cord_check where date <= $1
) as r
group by date
order by date;
