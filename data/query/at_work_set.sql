-- Puts a quantity to work.
-- Parameters: $1 quantity.
-- Columns: those of at_work.
insert into at_work (quantity)
values ($1);
