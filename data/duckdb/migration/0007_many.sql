-- What millions of builds need.

-- An index of every id costs a tenth of a large import and, at ten million builds, more memory
-- than all the rest. Rows come in by imports alone, which compare whole files with the log, so
-- the table does without: that no id stands twice is one of the rules that verify checks.
alter table build rename to build_indexed;

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
    line integer not null
);

insert into build (
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g,
    predicted_length_mm, predicted_shot_g, predicted_strand_mm, calibration, shot_factor,
    body_factor, length_factor, weight_g, length_mm, shot_used_g, strand_cut_mm,
    strand_left_mm, load_length_mm, started, humidity_percent, set_aside, note,
    computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm, parts_version,
    source, line
)
select
    id, date, maker, product, core_batch, strand_batch, shot_batch, predicted_weight_g,
    predicted_length_mm, predicted_shot_g, predicted_strand_mm, calibration, shot_factor,
    body_factor, length_factor, weight_g, length_mm, shot_used_g, strand_cut_mm,
    strand_left_mm, load_length_mm, started, humidity_percent, set_aside, note,
    computed_weight_g, computed_length_mm, computed_shot_g, computed_strand_mm, parts_version,
    source, line
from build_indexed;

drop table build_indexed;

-- The view as it was, but for a column that looks like another unit only where y is near the
-- smallest ratio that a slip makes at all: 2.1 is below ln(10) - 0.20, 0.73 below ln(2.54) - 0.20.
create or replace view build_ratio as
select
    r.source, r.line, r.id, r.date, r.started, r.maker, r.core_batch, r.strand_batch, r.shot_batch, r.product,
    r.set_aside, r.weight_g, r.length_mm, r.shot_used_g, r.body_g, r.strand_used_mm,
    r.shot_base_g, r.shot_planned_g, r.body_base_g, r.body_planned_g, r.weight_base_g,
    r.weight_planned_g, r.length_base_mm, r.length_planned_mm, r.strand_base_mm,
    r.shot_y, r.body_y, r.weight_y, r.length_y, r.strand_y,
    case
        when r.shot_y is null or abs(r.shot_y) < 2.1 then false
        else least(
                abs(abs(r.shot_y) - ln(10)), abs(abs(r.shot_y) - ln(15.43)), abs(abs(r.shot_y) - ln(16)),
                abs(abs(r.shot_y) - ln(28.35)), abs(abs(r.shot_y) - ln(453.6)), abs(abs(r.shot_y) - ln(1000))
            ) <= 0.20
    end as shot_slip,
    case
        when r.weight_y is null or abs(r.weight_y) < 2.1 then false
        else least(
                abs(abs(r.weight_y) - ln(10)), abs(abs(r.weight_y) - ln(15.43)), abs(abs(r.weight_y) - ln(16)),
                abs(abs(r.weight_y) - ln(28.35)), abs(abs(r.weight_y) - ln(453.6)), abs(abs(r.weight_y) - ln(1000))
            ) <= 0.20
    end as weight_slip,
    case
        when r.length_y is null or abs(r.length_y) < 0.73 then false
        else least(
                abs(abs(r.length_y) - ln(2.54)), abs(abs(r.length_y) - ln(10)), abs(abs(r.length_y) - ln(12)), abs(abs(r.length_y) - ln(25.4)),
                abs(abs(r.length_y) - ln(30.48)), abs(abs(r.length_y) - ln(304.8)), abs(abs(r.length_y) - ln(1000))
            ) <= 0.20
    end as length_slip,
    case
        when r.strand_y is null or abs(r.strand_y) < 0.73 then false
        else least(
                abs(abs(r.strand_y) - ln(2.54)), abs(abs(r.strand_y) - ln(10)), abs(abs(r.strand_y) - ln(12)), abs(abs(r.strand_y) - ln(25.4)),
                abs(abs(r.strand_y) - ln(30.48)), abs(abs(r.strand_y) - ln(304.8)), abs(abs(r.strand_y) - ln(1000))
            ) <= 0.20
    end as strand_slip
from (
    select
        b.source, b.line, b.id, b.date, b.started, b.maker, b.core_batch, b.strand_batch, b.shot_batch, b.product,
        b.set_aside, b.weight_g, b.length_mm, b.shot_used_g, b.strand_used_mm,
        b.weight_g - b.shot_used_g as body_g,
        b.shot_base_g, b.shot_planned_g, b.body_base_g, b.body_planned_g, b.weight_base_g,
        b.weight_planned_g, b.length_base_mm, b.length_planned_mm, b.strand_base_mm,
        ln(case when b.shot_used_g > 0 and b.shot_base_g > 0 then b.shot_used_g / b.shot_base_g end) as shot_y,
        ln(
            case
                when b.weight_g > b.shot_used_g and b.body_base_g > 0
                    then (b.weight_g - b.shot_used_g) / b.body_base_g
            end
        ) as body_y,
        ln(case when b.weight_g > 0 and b.weight_base_g > 0 then b.weight_g / b.weight_base_g end) as weight_y,
        ln(case when b.length_mm > 0 and b.length_base_mm > 0 then b.length_mm / b.length_base_mm end) as length_y,
        ln(
            case
                when b.strand_used_mm > 0 and b.strand_base_mm > 0
                    then b.strand_used_mm / b.strand_base_mm
            end
        ) as strand_y
    from build_base as b
) as r;
