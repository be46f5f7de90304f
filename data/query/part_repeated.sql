-- Notes repeated lines, of which parts have none: a place in a list is counted, not stated.
-- Parameters: none.
-- Columns: line, id, first_line.
create temporary table repeated as
select s.line, s.product as id, s.line as first_line
from staged_part as s
where false;
