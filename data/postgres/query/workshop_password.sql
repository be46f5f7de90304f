-- Words the statement that gives a workshop another password.
-- Parameters: $1 name, $2 password.
-- Columns: the statement.
select format('alter role %I password %L', cast($1 as text), cast($2 as text));
