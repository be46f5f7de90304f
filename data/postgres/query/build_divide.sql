-- Makes parents of the tables of builds, which are divided by maker, of what servers say of
-- them, and of what they are told. No policies: rows are another server's to show, and a policy
-- here would be asked row by row instead of there.
-- Parameters: none.
-- Columns: none.
drop view
    build_base, build_ratio, fill_ratio, cord_check_ratio, observation, label, split_open, log_row, replaced_row, row_version,
    digest;
alter table build rename to build_whole;
alter table build_history rename to build_history_whole;
create table build (like build_whole including defaults) partition by hash (maker);
create table build_history (like build_history_whole including defaults) partition by hash (maker);
drop table build_whole, build_history_whole;

create table observed_build (
    fit text collate "C",
    quantity text collate "C",
    maker text collate "C",
    n bigint,
    id text collate "C",
    date date,
    maker_level text collate "C",
    core_batch text collate "C",
    strand_batch text collate "C",
    shot_batch text collate "C",
    product text collate "C",
    y double precision,
    eligible boolean,
    ratio double precision,
    reason smallint
) partition by hash (maker);

create table compared_build (
    fit text collate "C",
    maker text collate "C",
    date date,
    maker_level text collate "C",
    core_batch text collate "C",
    strand_batch text collate "C",
    shot_batch text collate "C",
    product text collate "C"
) partition by hash (maker);

create table residual_build (
    fit text collate "C",
    quantity text collate "C",
    maker text collate "C",
    n bigint,
    y double precision,
    maker_value double precision,
    core_batch_value double precision,
    strand_batch_value double precision,
    shot_batch_value double precision,
    product_value double precision,
    variance double precision,
    maker_lone double precision,
    core_batch_lone double precision,
    strand_batch_lone double precision,
    shot_batch_lone double precision,
    product_lone double precision
) partition by hash (maker);

create table residual_pair_build (
    fit text collate "C",
    maker text collate "C",
    n bigint,
    shot double precision,
    body double precision
) partition by hash (maker);

create table digest_build (
    maker text collate "C",
    id text collate "C",
    date date,
    digest text collate "C"
) partition by hash (maker);

create table tally_build (
    maker text collate "C",
    date date,
    source integer,
    weighed boolean,
    split boolean,
    unpredicted boolean
) partition by hash (maker);

create table load_build (
    maker text collate "C",
    date date,
    load_g_mm double precision
) partition by hash (maker);

drop table fit, fit_split, fit_level;

create table fit (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    made_at timestamp not null default current_timestamp,
    through date not null,
    everything boolean not null,
    splits boolean not null
) partition by list (server);

create table fit_split (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    effect text collate "C" not null,
    label text collate "C" not null,
    since date not null
) partition by list (server);

create table fit_level (
    server text collate "C" not null,
    workshop text collate "C" not null default current_user,
    fit text collate "C" not null,
    quantity text collate "C" not null,
    effect text collate "C" not null,
    label text collate "C" not null,
    value double precision not null,
    theta2 double precision not null,
    lone double precision
) partition by list (server);

-- The servers that are told of a fit.
-- With the rights of who asks: with the keeper's, a workshop could write to the catalog.
create view part_server with (security_invoker = true) as
select cast(srvname as text) as name
from pg_catalog.pg_foreign_server
where srvname like 'trueplait\_%';
