-- Lists the servers that the builds are divided among, for anybody who may use the log.
-- Parameters: none.
-- Columns: name; ordered.
select name
from part_server
order by name;
