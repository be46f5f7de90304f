-- The number of the next source.
-- Parameters: none.
-- Columns: the number.
select coalesce(max(number), 0) + 1
from source;
