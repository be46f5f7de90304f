-- Loads rows that a fit left out.
-- Parameters: none; the batch is the table appended.
-- Columns: those of aside.
insert into aside (quantity, n)
select a.quantity, c.n
from appended as a
join compared as c on c.id = a.id and c.built = (a.kind = 'builds');
