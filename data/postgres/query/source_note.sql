-- Notes that a file is being imported, before its rows go to other servers.
-- Parameters: $1 number, $2 name, $3 kind, $4 time.
-- Columns: those of source; the SHA-256 of a file that is not in is ''.
insert into source (number, name, kind, sha256, size_bytes, imported_at)
values ($1, $2, $3, '', 0, $4);
