-- Counts the staged lines that the log has, and those of them that differ.
-- Parameters: none.
-- Columns: known, differing.
select count(*), count(case when differs then 1 end)
from verdict;
