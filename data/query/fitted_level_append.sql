-- Loads fitted levels.
-- Parameters: none; the batch is the table appended.
-- Columns: those of fitted_level.
insert into fitted_level (quantity, effect, level, value)
select quantity, effect, level, value
from appended;
