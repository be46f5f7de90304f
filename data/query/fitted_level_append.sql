-- Loads what fits say of levels.
-- Parameters: none; the batch is the table appended.
-- Columns: those of fitted_level.
insert into fitted_level (quantity, effect, level, value, theta2, lone)
select quantity, effect, coalesce(level, 0), value, theta2, lone
from appended;
