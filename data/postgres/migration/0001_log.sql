-- The log: what was planned and what was measured, where each row came from, what was
-- replaced, and the calibrations made from it. Grams and millimetres; a figure that was
-- not recorded is NULL, an unrecorded label too.
--
-- Many workshops share the tables. A row belongs to the role that wrote it, its workshop, and
-- nobody else sees or changes it: see the policies at the end. Labels and ids are ordered by
-- their bytes, whatever the language of the server.

create schema if not exists trueplait;

-- A figure as text, the shortest that reads back as it, always with a point or an exponent: a
-- digest of the same row must be the same wherever the row is.
create function figure(x double precision) returns text
language sql immutable parallel safe
return case when x = trunc(x) then cast(x as text) || '.0' else cast(x as text) end;

-- Small letters of every script. It stands in front of the built-in function of that name,
-- which knows ASCII only where text is ordered by its bytes.
create function lower(x text) returns text
language sql immutable parallel safe
return pg_catalog.lower(x collate "und-x-icu") collate "C";

-- Which migrations these tables have had.
create table schema_migration (
    version integer not null,
    name text collate "C" not null,
    primary key (version)
);

-- A file that was imported; its bytes are the pieces in order, each a gzip stream of its own.
create table source (
    workshop text collate "C" not null default current_user,
    number integer not null,
    name text collate "C" not null,
    kind text collate "C" not null,
    sha256 text collate "C" not null,
    size_bytes bigint not null,
    imported_at timestamp not null,
    primary key (workshop, number)
);

create table source_piece (
    workshop text collate "C" not null default current_user,
    source integer not null,
    position integer not null,
    content_gzip bytea not null,
    primary key (workshop, source, position)
);

-- One finished whip a row. predicted_* is what the planner said, with the factors beside it
-- already inside; computed_* is the base figure worked out at import from parts list
-- parts_version where the planner's figure was left blank.
create table build (
    workshop text collate "C" not null default current_user,
    id text collate "C" not null,
    date date not null,
    maker text collate "C" not null,
    product text collate "C" not null,
    core_batch text collate "C",
    strand_batch text collate "C",
    shot_batch text collate "C",
    predicted_weight_g double precision,
    predicted_length_mm double precision,
    predicted_shot_g double precision,
    predicted_strand_mm double precision,
    calibration integer,
    shot_factor double precision,
    body_factor double precision,
    length_factor double precision,
    weight_g double precision,
    length_mm double precision,
    shot_used_g double precision,
    strand_cut_mm double precision,
    strand_left_mm double precision,
    load_length_mm double precision,
    started date,
    humidity_percent double precision,
    set_aside text collate "C",
    note text collate "C",
    computed_weight_g double precision,
    computed_length_mm double precision,
    computed_shot_g double precision,
    computed_strand_mm double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    primary key (workshop, id, maker)
);

-- Rows of build that amendments replaced, as they were.
create table build_history (
    workshop text collate "C" not null default current_user,
    id text collate "C" not null,
    date date not null,
    maker text collate "C" not null,
    product text collate "C" not null,
    core_batch text collate "C",
    strand_batch text collate "C",
    shot_batch text collate "C",
    predicted_weight_g double precision,
    predicted_length_mm double precision,
    predicted_shot_g double precision,
    predicted_strand_mm double precision,
    calibration integer,
    shot_factor double precision,
    body_factor double precision,
    length_factor double precision,
    weight_g double precision,
    length_mm double precision,
    shot_used_g double precision,
    strand_cut_mm double precision,
    strand_left_mm double precision,
    load_length_mm double precision,
    started date,
    humidity_percent double precision,
    set_aside text collate "C",
    note text collate "C",
    computed_weight_g double precision,
    computed_length_mm double precision,
    computed_shot_g double precision,
    computed_strand_mm double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    replaced_at timestamp not null,
    replaced_by integer not null
);

-- A measured length of core cord, filled with shot and weighed. computed_shot_g is the base
-- figure worked out at import where none was stated: from parts list parts_version, or, where
-- that is NULL, from the load per length of builds.
create table fill (
    workshop text collate "C" not null default current_user,
    id text collate "C" not null,
    date date not null,
    maker text collate "C",
    core_batch text collate "C",
    shot_batch text collate "C",
    filled_length_mm double precision not null,
    shot_mass_g double precision not null,
    predicted_shot_g double precision,
    note text collate "C",
    computed_shot_g double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    primary key (workshop, id)
);

-- Rows of fill that amendments replaced, as they were.
create table fill_history (
    workshop text collate "C" not null default current_user,
    id text collate "C" not null,
    date date not null,
    maker text collate "C",
    core_batch text collate "C",
    shot_batch text collate "C",
    filled_length_mm double precision not null,
    shot_mass_g double precision not null,
    predicted_shot_g double precision,
    note text collate "C",
    computed_shot_g double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    replaced_at timestamp not null,
    replaced_by integer not null
);

-- A measured length of strand cord, weighed. computed_mass_g is worked out at import from
-- parts list parts_version where no prediction was stated.
create table cord_check (
    workshop text collate "C" not null default current_user,
    id text collate "C" not null,
    date date not null,
    strand_batch text collate "C",
    checked_length_mm double precision not null,
    checked_mass_g double precision not null,
    predicted_mass_g double precision,
    note text collate "C",
    computed_mass_g double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    primary key (workshop, id)
);

-- Rows of cord_check that amendments replaced, as they were.
create table cord_check_history (
    workshop text collate "C" not null default current_user,
    id text collate "C" not null,
    date date not null,
    strand_batch text collate "C",
    checked_length_mm double precision not null,
    checked_mass_g double precision not null,
    predicted_mass_g double precision,
    note text collate "C",
    computed_mass_g double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    replaced_at timestamp not null,
    replaced_by integer not null
);

-- An item of the range and what is promised of it today.
create table product (
    workshop text collate "C" not null default current_user,
    product text collate "C" not null,
    description text collate "C",
    weight_low_g double precision,
    weight_high_g double precision,
    length_low_mm double precision,
    length_high_mm double precision,
    source integer not null,
    line integer not null,
    primary key (workshop, product)
);

-- Rows of product that amendments replaced, as they were.
create table product_history (
    workshop text collate "C" not null default current_user,
    product text collate "C" not null,
    description text collate "C",
    weight_low_g double precision,
    weight_high_g double precision,
    length_low_mm double precision,
    length_high_mm double precision,
    source integer not null,
    line integer not null,
    replaced_at timestamp not null,
    replaced_by integer not null
);

-- The parts list of a product as it is now; version counts the lists the product has had.
create table part (
    workshop text collate "C" not null default current_user,
    product text collate "C" not null,
    position integer not null,
    part text collate "C" not null,
    role text collate "C" not null,
    material text collate "C",
    count integer,
    diameter_mm double precision,
    tip_diameter_mm double precision,
    length_mm double precision,
    start_mm double precision,
    load_length_mm double precision,
    bore_mm double precision,
    shot text collate "C",
    shot_diameter_mm double precision,
    density_g_cm3 double precision,
    strands integer,
    strand_width_mm double precision,
    strand_thickness_mm double precision,
    drop_angle_deg double precision,
    tail_mm double precision,
    unloaded_diameter_mm double precision,
    sheath_angle_deg double precision,
    sheath_thickness_mm double precision,
    mass_per_length_g_m double precision,
    mass_g double precision,
    fraction double precision,
    version integer not null,
    source integer not null,
    line integer not null,
    primary key (workshop, product, position)
);

-- Rows of part that amendments replaced, as they were.
create table part_history (
    workshop text collate "C" not null default current_user,
    product text collate "C" not null,
    position integer not null,
    part text collate "C" not null,
    role text collate "C" not null,
    material text collate "C",
    count integer,
    diameter_mm double precision,
    tip_diameter_mm double precision,
    length_mm double precision,
    start_mm double precision,
    load_length_mm double precision,
    bore_mm double precision,
    shot text collate "C",
    shot_diameter_mm double precision,
    density_g_cm3 double precision,
    strands integer,
    strand_width_mm double precision,
    strand_thickness_mm double precision,
    drop_angle_deg double precision,
    tail_mm double precision,
    unloaded_diameter_mm double precision,
    sheath_angle_deg double precision,
    sheath_thickness_mm double precision,
    mass_per_length_g_m double precision,
    mass_g double precision,
    fraction double precision,
    version integer not null,
    source integer not null,
    line integer not null,
    replaced_at timestamp not null,
    replaced_by integer not null
);

-- A calibration that was saved; options and result are JSON. Never changed.
create table calibration (
    workshop text collate "C" not null default current_user,
    number integer not null,
    fingerprint text collate "C" not null,
    options text collate "C" not null,
    through date,
    made_at timestamp not null,
    result text collate "C",
    program text collate "C",
    newest_source integer,
    primary key (workshop, number),
    unique (workshop, fingerprint, options)
);

-- The result of a calibration, where it is a long one: the bytes are the pieces in order, each
-- a gzip stream of its own, as of files. calibration.result is NULL then.
create table calibration_piece (
    workshop text collate "C" not null default current_user,
    number integer not null,
    position integer not null,
    content_gzip bytea not null,
    primary key (workshop, number, position)
);

-- The factors of a calibration: what a plan made with it contains.
create table calibration_factor (
    workshop text collate "C" not null default current_user,
    number integer not null,
    quantity text collate "C" not null,
    maker text collate "C",
    core_batch text collate "C",
    strand_batch text collate "C",
    shot_batch text collate "C",
    product text collate "C",
    factor double precision not null
);

-- predicted_* is what the planner said, with the factors beside it already inside. maker and
-- batches are NULL where they were not known yet. target_weight_g is the weight asked for.
-- finished_at and finished_by (number of the source) are NULL while the plan is open.
create table open_build (
    workshop text collate "C" not null default current_user,
    id text collate "C" not null,
    saved_at timestamp not null,
    started date,
    product text collate "C" not null,
    maker text collate "C",
    core_batch text collate "C",
    strand_batch text collate "C",
    shot_batch text collate "C",
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
    finished_at timestamp,
    finished_by integer,
    primary key (workshop, id)
);

-- effect: maker, core_batch, strand_batch or shot_batch. Rows are never deleted.
create table split (
    workshop text collate "C" not null default current_user,
    effect text collate "C" not null,
    label text collate "C" not null,
    since date not null,
    made_at timestamp not null,
    undone_at timestamp
);

-- Plans as they were before they were dropped, or before other figures took their place. They
-- are no longer in open_build: nothing takes from them and their id is free.
create table open_build_history (
    workshop text collate "C" not null default current_user,
    id text collate "C" not null,
    saved_at timestamp not null,
    started date,
    product text collate "C" not null,
    maker text collate "C",
    core_batch text collate "C",
    strand_batch text collate "C",
    shot_batch text collate "C",
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
    workshop text collate "C" not null default current_user,
    form_key text collate "C" not null,
    kind text collate "C" not null,
    id text collate "C" not null,
    entered_at timestamp not null,
    primary key (workshop, form_key)
);

-- units: both, metric or imperial.
create table maker_units (
    workshop text collate "C" not null default current_user,
    maker text collate "C" not null,
    units text collate "C" not null,
    set_at timestamp not null,
    primary key (workshop, maker)
);

-- A workshop is a role, and its log is what it sees: row-level security takes the place of a
-- column in every statement. It holds for the owner of the tables too, though not for a
-- superuser, whom the program refuses.
do $$
declare
    name text;
begin
    for name in
        select c.relname
        from pg_class as c
        where c.relnamespace = 'trueplait'::regnamespace and c.relkind = 'r' and c.relname <> 'schema_migration'
    loop
        execute format('alter table %I enable row level security', name);
        execute format('alter table %I force row level security', name);
        execute format(
            'create policy own on %I using (workshop = current_user) with check (workshop = current_user)', name
        );
    end loop;
end
$$;
