-- Lists the workshops.
-- Parameters: none.
-- Columns: name; ordered.
select cast(m.rolname as text) as name
from pg_catalog.pg_auth_members as a
join pg_catalog.pg_roles as g on g.oid = a.roleid
join pg_catalog.pg_roles as m on m.oid = a.member
where g.rolname = 'trueplait_workshop'
order by name;
