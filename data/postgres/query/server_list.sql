-- Lists the servers that the builds are divided among, and as whom the one who asks reaches
-- them.
-- Parameters: none.
-- Columns: name, host, port, database, role there, its password; ordered by name.
select
    cast(s.srvname as text),
    (select o.option_value from pg_options_to_table(s.srvoptions) as o where o.option_name = 'host'),
    (select o.option_value from pg_options_to_table(s.srvoptions) as o where o.option_name = 'port'),
    (select o.option_value from pg_options_to_table(s.srvoptions) as o where o.option_name = 'dbname'),
    (select o.option_value from pg_options_to_table(m.umoptions) as o where o.option_name = 'user'),
    (select o.option_value from pg_options_to_table(m.umoptions) as o where o.option_name = 'password')
from pg_catalog.pg_foreign_server as s
join pg_catalog.pg_user_mappings as m on m.srvid = s.oid and m.usename = current_user
where s.srvname like 'trueplait\_%'
order by length(s.srvname), s.srvname;
