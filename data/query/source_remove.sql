-- Takes out the note of a file that brought nothing and is in the log already.
-- Parameters: $1 number of the source.
-- Columns: none.
delete from source
where number = $1;
