-- Notes the lines whose id an earlier line of the same file has too.
-- Parameters: none.
-- Columns: line, id, first_line (where the id stands first).
create temporary table repeated as
select s.line, s.id as id, d.first_line
from staged_cord_check as s
join (
    select id, min(line) as first_line
    from staged_cord_check
    group by id
    having count(*) > 1
) as d on d.id = s.id
where s.line > d.first_line;
