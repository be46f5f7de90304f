-- Asks another server for anything.
-- Parameters: $1 its name.
-- Columns: nothing of use.
select count(*)
from fit
where server = $1;
