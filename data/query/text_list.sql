-- Lists every text that names something, each once: ids, labels, parts.
-- Parameters: none.
-- Columns: kind of what has it, the text; ordered by those.
select distinct kind, id
from row_version
where id is not null
union
select effect as kind, label as id
from label
union
select 'parts' as kind, part as id
from part
order by kind, id;
