-- Undoes what a transaction did, and keeps its lock.
-- Parameters: none.
-- Columns: none.
rollback to savepoint begun;
