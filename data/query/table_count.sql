-- Counts the tables and views of a file: 0 in a new one.
-- Parameters: none.
-- Columns: the number.
select count(*)
from information_schema.tables
where table_schema not in ('information_schema', 'pg_catalog');
