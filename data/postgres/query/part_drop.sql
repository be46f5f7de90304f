-- Words the statement that removes a part.
-- Parameters: $1 schema of the part.
-- Columns: the statement.
select format('drop schema if exists %I cascade', cast($1 as text));
