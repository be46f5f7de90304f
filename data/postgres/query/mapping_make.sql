-- Words the statement that says as whom a role asks another server.
-- Parameters: $1 role, $2 server, $3 role there, $4 its password.
-- Columns: the statement.
select format(
    'create user mapping for %I server %I options (user %L, password %L)',
    cast($1 as text), cast($2 as text), cast($3 as text), cast($4 as text)
);
