-- Words the statements that make a part of the builds on the server that keeps it.
-- A row of a maker of another part is refused, by whatever way it comes.
-- Parameters: $1 schema of the part, $2 number of parts, $3 its number, from 0.
-- Columns: the statements; afterwards the schema is the first in the search path of the transaction.
select format(
    $text$
create schema %1$I;
create table %1$I.build (like trueplait.build including defaults including indexes);
alter table %1$I.build add constraint maker_of_part
    check (satisfies_hash_partition('trueplait.maker_hash'::regclass, %2$s, %3$s, maker));
create table %1$I.build_history (like trueplait.build_history including defaults);
alter table %1$I.build_history add constraint maker_of_part
    check (satisfies_hash_partition('trueplait.maker_hash'::regclass, %2$s, %3$s, maker));
create index on %1$I.build_history (workshop, id);
alter table %1$I.build enable row level security;
alter table %1$I.build force row level security;
alter table %1$I.build_history enable row level security;
alter table %1$I.build_history force row level security;
create policy own on %1$I.build using (workshop = current_user) with check (workshop = current_user);
create policy own on %1$I.build_history using (workshop = current_user) with check (workshop = current_user);
grant usage on schema %1$I to trueplait_workshop;
grant select, insert, update, delete on %1$I.build, %1$I.build_history to trueplait_workshop;
set local search_path = %1$I, trueplait, pg_catalog;
$text$,
    cast($1 as text), cast($2 as integer), cast($3 as integer)
);
