-- Loads rows that a fit left out.
-- Parameters: none; the batch is the table appended.
-- Columns: those of aside.
insert into aside (quantity, kind, id)
select quantity, kind, id
from appended;
