-- Counts the builds.
-- Parameters: none.
-- Columns: the number.
select count(*)
from build;
