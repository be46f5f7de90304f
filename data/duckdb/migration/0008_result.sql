-- What calibrations of millions of factors need.

-- The result of a calibration, where it is a long one: the bytes are the pieces in order, each
-- a gzip stream of its own, as of files. calibration.result, which passes through memory whole,
-- is NULL then.
create table calibration_piece (
    number integer not null,
    position integer not null,
    content_gzip bytea not null,
    primary key (number, position)
);

alter table calibration alter column result drop not null;
