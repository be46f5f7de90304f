-- Lists the workshops.
-- Parameters: none.
-- Columns: name; ordered.
select name
from workshop
order by name;
