-- Counts the plans that were saved for builds, finished ones too.
-- Parameters: none.
-- Columns: the number.
select count(*)
from open_build;
