-- Words the statements that take another server's part out of the log.
-- Parameters: $1 schema of the part.
-- Columns: the statements.
select format('drop schema %I cascade', cast($1 as text));
