-- Drops the list of factor_given_stage.
-- Parameters: none.
-- Columns: none.
drop table factor_given;
