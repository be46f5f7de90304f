-- Shares one figure of the workshop.
-- Parameters: $1 quantity, $2 parameter, $3 value, $4 standard error.
-- Columns: those of pool_share.
insert into pool_share (quantity, parameter, value, se)
values ($1, $2, $3, $4);
