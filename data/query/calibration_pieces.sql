-- Reads back the result of a calibration that is kept in pieces.
-- Parameters: $1 number of the calibration.
-- Columns: the pieces, each a gzip stream, in order.
select content_gzip
from calibration_piece
where number = $1
order by position;
