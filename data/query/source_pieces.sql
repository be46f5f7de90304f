-- Reads a file's bytes back.
-- Parameters: $1 number of the source.
-- Columns: the pieces, each a gzip stream, in order.
select content_gzip
from source_piece
where source = $1
order by position;
