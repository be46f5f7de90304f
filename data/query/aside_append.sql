-- Loads rows that a fit left out.
-- Parameters: none; the batch is the table appended.
-- Columns: those of aside.
insert into aside (quantity, n)
select quantity, n
from appended;
