-- The files as the log held them when one was the newest, without their bytes.
-- Parameters: $1 number of that source.
-- Columns: those of source; ordered by number.
select number, name, kind, sha256, size_bytes, imported_at
from source
where number <= $1
order by number;
