-- Notes the staged lines whose id the file has among the builds that were not staged.
-- Parameters: none; the file is the newest source.
-- Columns: line, id, first_line (where the id stands first).
insert into repeated (line, id, first_line)
select s.line, s.id, b.line
from staged_build as s
join build as b on b.id = s.id
where b.source = (select max(number) from source);
