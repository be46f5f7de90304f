-- Loads rows that are to be counted and placed.
-- Parameters: none; the batch is the table appended.
-- Columns: those of wanted.
insert into wanted (effect, label, kind, id)
select effect, label, kind, id
from appended;
