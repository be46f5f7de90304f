-- Loads rows that are asked for.
-- Parameters: none; the batch is the table appended.
-- Columns: those of wanted.
insert into wanted (place, effect, level, n, date, id, kind)
select a.place, a.effect, a.level, c.n, c.date, c.id, a.kind
from appended as a
join compared as c on c.id = a.id and c.built = (a.kind = 'builds');
