-- Lists what else it takes to reach a server, such as how TLS is to be used.
-- Parameters: $1 name of the server.
-- Columns: name, value; ordered by name.
select o.option_name, o.option_value
from pg_catalog.pg_foreign_server as s
cross join lateral pg_options_to_table(s.srvoptions) as o
where s.srvname = $1 and o.option_name like 'ssl%'
order by o.option_name;
