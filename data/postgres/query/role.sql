-- Says who is connected.
-- Parameters: none.
-- Columns: name of the role; whether row-level security does not hold for it; whether it may
-- make a schema in the database.
select
    cast(r.rolname as text),
    r.rolsuper or r.rolbypassrls,
    has_database_privilege(current_database(), 'create')
from pg_catalog.pg_roles as r
where r.rolname = current_user;
