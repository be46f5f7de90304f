-- Lets workshops find the tables of the log.
-- Parameters: none.
-- Columns: none.
grant usage on schema trueplait to trueplait_workshop;
