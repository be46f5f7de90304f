-- Keeps a piece of the result of a calibration.
-- Parameters: $1 number of the calibration, $2 position from 0, $3 the piece as a gzip stream.
-- Columns: those of calibration_piece.
insert into calibration_piece (number, position, content_gzip)
values ($1, $2, $3);
