-- Lets workshops use the tables of the log; what rows they see is up to the policies.
-- Parameters: none.
-- Columns: none.
grant select, insert, update, delete on all tables in schema trueplait to trueplait_workshop;
