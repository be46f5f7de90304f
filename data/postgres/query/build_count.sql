-- Counts the builds of the tables that are to be divided, whoever's they are.
-- Parameters: none.
-- Columns: number.
select (select count(*) from build) + (select count(*) from build_history);
