-- Says whether a file of this content is in the log already.
-- Parameters: $1 SHA-256 in hex, $2 kind.
-- Columns: how many times.
select count(*)
from source
where sha256 = $1 and kind = $2;
