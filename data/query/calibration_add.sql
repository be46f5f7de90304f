-- Saves a calibration.
-- Parameters: $1 number, $2 fingerprint, $3 options, $4 date of the last row, $5 time, $6 result.
-- Columns: those of calibration.
insert into calibration (number, fingerprint, options, through, made_at, result)
values ($1, $2, $3, $4, $5, $6);
