-- Saves a calibration, with the number of the newest source.
-- Parameters: $1 number, $2 fingerprint, $3 options, $4 date of the last row, $5 time, $6 result,
-- NULL where it is kept in pieces, $7 version of the program.
-- Columns: those of calibration.
insert into calibration (number, fingerprint, options, through, made_at, result, program, newest_source)
select $1, $2, $3, cast($4 as date), cast($5 as timestamp), $6, $7, (select coalesce(max(s.number), 0) from source as s);
