-- Takes out a file that brought nothing. Its note stays until the import ends, so that the next
-- file of it has a number of its own.
-- Parameters: $1 its number.
-- Columns: none.
update source set sha256 = '', size_bytes = 0 where number = $1;
