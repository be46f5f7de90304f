-- Keeps a piece of a file's bytes.
-- Parameters: $1 number of the source, $2 position from 0, $3 the piece as a gzip stream.
-- Columns: those of source_piece.
insert into source_piece (source, position, content_gzip)
values ($1, $2, $3);
