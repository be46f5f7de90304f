-- Takes out the bytes of a file that are kept under another number already.
-- Parameters: $1 number of the source.
-- Columns: none.
delete from source_piece
where source = $1;
