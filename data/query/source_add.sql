-- Notes a file that was imported.
-- Parameters: $1 number, $2 name, $3 kind, $4 SHA-256 in hex, $5 size in bytes, $6 time.
-- Columns: those of source.
insert into source (number, name, kind, sha256, size_bytes, imported_at)
values ($1, $2, $3, $4, $5, $6);
