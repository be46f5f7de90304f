-- Lists the lines that repeat an id of the same file and say nothing else.
-- Parameters: none.
-- Columns: id, line, first_line; ordered by line.
select r.id, r.line, r.first_line
from repeated as r
join verdict as v on v.line = r.line
where not v.differs
order by r.line;
