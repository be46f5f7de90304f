-- Writes down a workshop.
-- Parameters: $1 name.
-- Columns: those of workshop.
insert into workshop (name)
values ($1);
