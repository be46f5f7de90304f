-- The log: what was planned and what was measured, where each row came from, what was
-- replaced, and the calibrations made from it. Grams and millimetres; a figure that was
-- not recorded is NULL, an unrecorded label too.
--
-- There are no foreign keys: rows are written by imports only, whole files in one
-- transaction, and checking a key per row would double the time of a large one.

-- Which migrations this file has had.
create table schema_migration (
    version integer not null,
    name text not null,
    primary key (version)
);

-- A file that was imported; its bytes are the pieces in order, each a gzip stream of its own.
create table source (
    number integer not null,
    name text not null,
    kind text not null,
    sha256 text not null,
    size_bytes bigint not null,
    imported_at timestamp not null,
    primary key (number)
);

create table source_piece (
    source integer not null,
    position integer not null,
    content_gzip bytea not null,
    primary key (source, position)
);

-- One finished whip a row. predicted_* is what the planner said, with the factors beside it
-- already inside; computed_* is the base figure worked out at import from parts list
-- parts_version where the planner's figure was left blank.
create table build (
    id text not null,
    date date not null,
    maker text not null,
    product text not null,
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
    weight_g double precision,
    length_mm double precision,
    shot_used_g double precision,
    strand_cut_mm double precision,
    strand_left_mm double precision,
    load_length_mm double precision,
    started date,
    humidity_percent double precision,
    set_aside text,
    note text,
    computed_weight_g double precision,
    computed_length_mm double precision,
    computed_shot_g double precision,
    computed_strand_mm double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    primary key (id)
);

-- Rows of build that amendments replaced, as they were.
create table build_history (
    id text not null,
    date date not null,
    maker text not null,
    product text not null,
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
    weight_g double precision,
    length_mm double precision,
    shot_used_g double precision,
    strand_cut_mm double precision,
    strand_left_mm double precision,
    load_length_mm double precision,
    started date,
    humidity_percent double precision,
    set_aside text,
    note text,
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
    id text not null,
    date date not null,
    maker text,
    core_batch text,
    shot_batch text,
    filled_length_mm double precision not null,
    shot_mass_g double precision not null,
    predicted_shot_g double precision,
    note text,
    computed_shot_g double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    primary key (id)
);

-- Rows of fill that amendments replaced, as they were.
create table fill_history (
    id text not null,
    date date not null,
    maker text,
    core_batch text,
    shot_batch text,
    filled_length_mm double precision not null,
    shot_mass_g double precision not null,
    predicted_shot_g double precision,
    note text,
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
    id text not null,
    date date not null,
    strand_batch text,
    checked_length_mm double precision not null,
    checked_mass_g double precision not null,
    predicted_mass_g double precision,
    note text,
    computed_mass_g double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    primary key (id)
);

-- Rows of cord_check that amendments replaced, as they were.
create table cord_check_history (
    id text not null,
    date date not null,
    strand_batch text,
    checked_length_mm double precision not null,
    checked_mass_g double precision not null,
    predicted_mass_g double precision,
    note text,
    computed_mass_g double precision,
    parts_version integer,
    source integer not null,
    line integer not null,
    replaced_at timestamp not null,
    replaced_by integer not null
);

-- An item of the range and what is promised of it today.
create table product (
    product text not null,
    description text,
    weight_low_g double precision,
    weight_high_g double precision,
    length_low_mm double precision,
    length_high_mm double precision,
    source integer not null,
    line integer not null,
    primary key (product)
);

-- Rows of product that amendments replaced, as they were.
create table product_history (
    product text not null,
    description text,
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
    product text not null,
    position integer not null,
    part text not null,
    role text not null,
    material text,
    count integer,
    diameter_mm double precision,
    tip_diameter_mm double precision,
    length_mm double precision,
    start_mm double precision,
    load_length_mm double precision,
    bore_mm double precision,
    shot text,
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
    primary key (product, position)
);

-- Rows of part that amendments replaced, as they were.
create table part_history (
    product text not null,
    position integer not null,
    part text not null,
    role text not null,
    material text,
    count integer,
    diameter_mm double precision,
    tip_diameter_mm double precision,
    length_mm double precision,
    start_mm double precision,
    load_length_mm double precision,
    bore_mm double precision,
    shot text,
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
    number integer not null,
    fingerprint text not null,
    options text not null,
    through date,
    made_at timestamp not null,
    result text not null,
    primary key (number),
    unique (fingerprint, options)
);

-- The factors of a calibration: what a plan made with it contains.
create table calibration_factor (
    number integer not null,
    quantity text not null,
    maker text,
    core_batch text,
    strand_batch text,
    shot_batch text,
    product text,
    factor double precision not null
);
