-- Says who is connected.
-- Parameters: none.
-- Columns: name of the role; whether row-level security does not hold for it; whether it may
-- make a schema in the database; whether it may make roles.
select
    cast(r.rolname as text),
    r.rolsuper or r.rolbypassrls,
    has_database_privilege(current_database(), 'create'),
    r.rolsuper or r.rolcreaterole
from pg_catalog.pg_roles as r
where r.rolname = current_user;
