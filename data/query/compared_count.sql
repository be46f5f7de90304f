-- Counts the rows at work.
-- Parameters: none.
-- Columns: number.
select count(*)
from compared;
