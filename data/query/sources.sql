-- Lists the files that were imported, in the order they came.
-- Parameters: none.
-- Columns: number, name, kind, SHA-256 in hex, size in bytes, time.
select number, name, kind, sha256, size_bytes, imported_at
from source
where sha256 <> ''
order by number;
