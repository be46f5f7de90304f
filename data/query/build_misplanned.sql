-- Lists the builds of the file whose open plan is for another product or maker.
-- Parameters: none.
-- Columns: line, id, product and maker of the row, those of the plan; ordered by line.
select s.line, s.id, s.product, s.maker, p.product, p.maker
from staged_build as s
join open_build as p on p.id = s.id
where p.finished_at is null and (p.product <> s.product or p.maker <> s.maker)
order by s.line;
