-- Finds the row of a kind that came into the log last.
-- Parameters: $1 the kind.
-- Columns: id.
select id
from log_row
where kind = $1
order by source desc, line desc
limit 1;
