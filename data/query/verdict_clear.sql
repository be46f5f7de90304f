-- Forgets the verdicts, for the lines that repeat an id.
-- Parameters: none.
-- Columns: none.
delete from verdict;
