-- Says whether the log has a build of an id.
-- Parameters: $1 id.
-- Columns: how many: 0 or 1.
select count(*)
from build
where id = $1;
