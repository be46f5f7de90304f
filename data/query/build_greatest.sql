-- The greatest id of a build, in the order of its bytes.
-- Parameters: none.
-- Columns: the id, empty where there is no build.
select coalesce(max(id), '')
from build;
