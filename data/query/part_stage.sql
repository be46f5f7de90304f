-- The temporary table that the parts of one file are loaded into.
-- Parameters: none.
-- Columns: those of part that a file can state, and the line.
create temporary table staged_part (
    product text,
    position integer,
    part text,
    role text,
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
    line integer
);
