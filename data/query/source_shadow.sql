-- Copies the list of sources into a temporary table of the same name, see build_shadow.
-- Parameters: none.
-- Columns: those of source.
create temporary table source as
select number, name, kind, sha256, size_bytes, imported_at
from source;
