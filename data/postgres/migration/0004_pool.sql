-- What workshops let the others know: what their own fits say of means and spreads, never of a
-- row. Nobody reads another's figures, only what pool gives of all others'.

-- value and se: mean and standard deviation of the posterior of a parameter, a natural logarithm.
create table pool_share (
    workshop text collate "C" not null default current_user,
    quantity text collate "C" not null,
    parameter text collate "C" not null,
    value double precision not null,
    se double precision not null,
    primary key (workshop, quantity, parameter)
);

-- Not forced: it does not hold for the owner, whose function pool is.
alter table pool_share enable row level security;
create policy own on pool_share using (workshop = current_user) with check (workshop = current_user);

-- How many other workshops share anything.
create function pool_size() returns integer
language sql stable security definer set search_path = trueplait, pg_catalog, pg_temp
return (select cast(count(distinct workshop) as integer) from pool_share where workshop <> session_user);

-- The moments of each parameter over the other workshops that share it, where these are five or
-- more: of fewer, what one of them says could be guessed.
create function pool() returns table (
    quantity text, parameter text, workshops integer,
    mean double precision, variance double precision, squared_se double precision
)
language sql stable security definer set search_path = trueplait, pg_catalog, pg_temp
begin atomic
    select s.quantity, s.parameter, cast(count(*) as integer), avg(s.value), var_samp(s.value), avg(s.se * s.se)
    from pool_share as s
    where s.workshop <> session_user
    group by s.quantity, s.parameter
    having count(*) >= 5
    order by s.quantity, s.parameter;
end;
