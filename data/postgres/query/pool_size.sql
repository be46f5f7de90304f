-- Counts the other workshops that share anything.
-- Parameters: none.
-- Columns: number.
select pool_size();
