-- Finds the file that a row came from.
-- Parameters: $1 the kind, $2 the id.
-- Columns: number, name, kind, SHA-256 in hex, size in bytes, time.
select s.number, s.name, s.kind, s.sha256, s.size_bytes, s.imported_at
from log_row as r
join source as s on s.number = r.source
where r.kind = $1 and r.id = $2;
