-- Lists the splits in force.
-- Parameters: none.
-- Columns: effect, label, first day of the new level; ordered by those.
select effect, label, since
from split_open
order by effect, label, since;
