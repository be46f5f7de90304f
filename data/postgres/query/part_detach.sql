-- Words the statements that take another server's part out of the log.
-- Parameters: $1 schema of the part.
-- Columns: the statements.
select format('drop foreign table %1$I.build, %1$I.build_history', cast($1 as text));
