-- Plans that wait for their build. A row of the same id takes from its plan what it leaves
-- blank, which finishes the plan; it stays, so that the same row again says the same.

-- predicted_* is what the planner said, with the factors beside it already inside. maker and
-- batches are NULL where they were not known yet. target_weight_g is the weight asked for.
-- finished_at and finished_by (number of the source) are NULL while the plan is open.
create table open_build (
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
    finished_at timestamp,
    finished_by integer,
    primary key (id)
);
