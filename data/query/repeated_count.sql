-- Counts the lines that repeat an id of the same file.
-- Parameters: none.
-- Columns: the number.
select count(*)
from repeated;
