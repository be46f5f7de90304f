-- Lists the levels.
-- Parameters: none.
-- Columns: effect, n, label; ordered by effect, n.
select effect, n, label
from level
order by effect, n;
