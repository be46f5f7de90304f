-- What the bench page needs: plans that are dropped or changed, forms that save once, the
-- units each maker reads, and one list of everything that has an id.

-- Plans as they were before they were dropped, or before other figures took their place. They
-- are no longer in open_build: nothing takes from them and their id is free.
create table open_build_history (
    id text not null,
    saved_at timestamp not null,
    started date,
    product text not null,
    maker text,
    core_batch text,
    strand_batch text,
    shot_batch text,
    predicted_weight_g double precision,
    predicted_length_mm double precision,
    predicted_shot_g double precision,
    predicted_strand_mm double precision,
    calibration integer,
    shot_factor double precision,
    body_factor double precision,
    length_factor double precision,
    load_length_mm double precision,
    target_weight_g double precision,
    ended_at timestamp not null,
    dropped boolean not null
);

-- Forms that were saved: form_key is random and made with the form, kind and id are of the
-- row that came of it.
create table form_entry (
    form_key text not null,
    kind text not null,
    id text not null,
    entered_at timestamp not null,
    primary key (form_key)
);

-- units: both, metric or imperial.
create table maker_units (
    maker text not null,
    units text not null,
    set_at timestamp not null,
    primary key (maker)
);

-- Every row with an id, by kind as files name it, and where it came from.
create view log_row as
select 'products' as kind, product as id, source, line from product
union all
select 'fills' as kind, id, source, line from fill
union all
select 'checks' as kind, id, source, line from cord_check
union all
select 'builds' as kind, id, source, line from build;
