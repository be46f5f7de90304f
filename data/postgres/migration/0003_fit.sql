-- What the servers of a divided log are told of a fit, so that they sum up their rows
-- themselves: fit is a key of one reader's, server the one that is told. Made anew for every
-- fit, and lost without harm.

-- Rows up to the day through are at work; everything: nothing with a ratio is excluded;
-- splits: there are any in force.
create unlogged table fit (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    made_at timestamp not null default current_timestamp,
    through date not null,
    everything boolean not null,
    splits boolean not null,
    primary key (workshop, fit)
);

-- The splits in force.
create unlogged table fit_split (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    effect text collate "C" not null,
    label text collate "C" not null,
    since date not null
);

create index on fit_split (workshop, fit, effect, label);

-- What the fit says of the levels of a quantity's effects, by their labels, '' of a blank one;
-- value, theta2 and lone as in fitted_level.
create unlogged table fit_level (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    quantity text collate "C" not null,
    effect text collate "C" not null,
    label text collate "C" not null,
    value double precision not null,
    theta2 double precision not null,
    lone double precision
);

create index on fit_level (workshop, fit);

-- Never has a row: servers of a divided log ask by it which part a maker belongs to.
create table maker_hash (maker text collate "C") partition by hash (maker);

do $$
declare
    name text;
begin
    foreach name in array array['fit', 'fit_split', 'fit_level']
    loop
        execute format('alter table %I enable row level security', name);
        execute format('alter table %I force row level security', name);
        execute format(
            'create policy own on %I using (workshop = current_user) with check (workshop = current_user)', name
        );
    end loop;
end
$$;
