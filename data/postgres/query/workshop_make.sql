-- Words the statement that makes a workshop, which takes no parameters.
-- Parameters: $1 name, $2 password.
-- Columns: the statement.
select format('create role %I login password %L in role trueplait_workshop', cast($1 as text), cast($2 as text));
