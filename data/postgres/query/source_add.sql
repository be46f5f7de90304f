-- Notes a file that is imported, or fills in what was noted of it.
-- Parameters: $1 number, $2 name, $3 kind, $4 SHA-256 in hex, $5 size in bytes, $6 time.
-- Columns: those of source.
insert into source (number, name, kind, sha256, size_bytes, imported_at)
values ($1, $2, $3, $4, $5, $6)
on conflict (workshop, number) do update set
    name = excluded.name, kind = excluded.kind, sha256 = excluded.sha256, size_bytes = excluded.size_bytes,
    imported_at = excluded.imported_at;
