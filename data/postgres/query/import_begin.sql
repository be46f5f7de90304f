-- Marks where a transaction can go back to without giving up its lock.
-- Parameters: none.
-- Columns: none.
savepoint begun;
