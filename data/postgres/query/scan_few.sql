-- Leaves joins to the planner again.
-- Parameters: none.
-- Columns: none.
set enable_nestloop = on;
