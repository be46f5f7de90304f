-- Loads rows that are asked for.
-- Parameters: none; the batch is the table appended.
-- Columns: those of wanted.
insert into wanted (place, n, kind, id, date, effect, level)
select place, n, kind, id, date, effect, level
from appended;
