-- The newest migration the file has had.
-- Parameters: none.
-- Columns: version, name.
select version, name
from schema_migration
order by version desc
limit 1;
