-- What is compared, and lists over several tables. Each view reads with the rights of who asks,
-- so that it shows a workshop its own rows.

-- The planner's figures of a build without the factors they contain (base), and as they
-- were used (planned). A figure that was not stated is the computed one, which is a base.
create view build_base with (security_invoker = true) as
select
    p.source, p.line, p.id, p.date, p.started, p.maker, p.core_batch, p.strand_batch, p.shot_batch, p.product,
    p.set_aside, p.weight_g, p.length_mm, p.shot_used_g, p.load_length_mm,
    p.strand_cut_mm - p.strand_left_mm as strand_used_mm,
    p.shot_base_g,
    p.shot_planned_g,
    p.body_base_g,
    coalesce(p.predicted_weight_g - p.shot_planned_g, p.body_base_g * p.body_factor) as body_planned_g,
    -- Without shot, the factor of the whole is known only where both parts share it.
    coalesce(
        p.shot_base_g + p.body_base_g,
        case
            when p.shot_planned_g is null and p.shot_factor = p.body_factor
                then p.predicted_weight_g / p.body_factor
        end,
        case when p.predicted_weight_g is null then p.computed_weight_g end
    ) as weight_base_g,
    coalesce(
        p.predicted_weight_g,
        p.shot_planned_g + p.body_base_g * p.body_factor,
        case when p.shot_factor = p.body_factor then p.computed_weight_g * p.body_factor end
    ) as weight_planned_g,
    coalesce(p.predicted_length_mm / p.length_factor, p.computed_length_mm) as length_base_mm,
    coalesce(p.predicted_length_mm, p.computed_length_mm * p.length_factor) as length_planned_mm,
    coalesce(p.predicted_strand_mm, p.computed_strand_mm) as strand_base_mm
from (
    select
        f.source, f.line, f.id, f.date, f.started, f.maker, f.core_batch, f.strand_batch, f.shot_batch, f.product,
        f.set_aside, f.weight_g, f.length_mm, f.shot_used_g, f.load_length_mm,
        f.strand_cut_mm, f.strand_left_mm, f.predicted_weight_g, f.predicted_length_mm,
        f.predicted_strand_mm, f.computed_weight_g, f.computed_length_mm, f.computed_strand_mm,
        f.shot_factor, f.body_factor, f.length_factor, f.shot_base_g, f.shot_planned_g,
        case
            when f.predicted_weight_g is not null
                then (f.predicted_weight_g - f.shot_planned_g) / f.body_factor
            else f.computed_weight_g - f.computed_shot_g
        end as body_base_g
    from (
        select
            b.source, b.line, b.id, b.date, b.started, b.maker, b.core_batch, b.strand_batch, b.shot_batch, b.product,
            b.set_aside, b.weight_g, b.length_mm, b.shot_used_g, b.load_length_mm,
            b.strand_cut_mm, b.strand_left_mm, b.predicted_weight_g, b.predicted_length_mm,
            b.predicted_strand_mm, b.computed_weight_g, b.computed_length_mm, b.computed_shot_g,
            b.computed_strand_mm,
            coalesce(b.shot_factor, 1) as shot_factor,
            coalesce(b.body_factor, 1) as body_factor,
            coalesce(b.length_factor, 1) as length_factor,
            coalesce(b.predicted_shot_g / coalesce(b.shot_factor, 1), b.computed_shot_g) as shot_base_g,
            coalesce(b.predicted_shot_g, b.computed_shot_g * coalesce(b.shot_factor, 1)) as shot_planned_g
        from build as b
    ) as f
) as p;

-- The builds with y = ln(measured/base) of every quantity, NULL where either is missing or
-- not positive, and whether a measured column looks like another unit: |y| within 0.20 of
-- the logarithm of a ratio that a slip of units or of the decimal point makes. The smallest
-- of those are asked for first: 2.1 is below ln(10) - 0.20, 0.73 below ln(2.54) - 0.20.
create view build_ratio with (security_invoker = true) as
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

-- The test fills and the cord checks, likewise.
create view fill_ratio with (security_invoker = true) as
select
    r.source, r.line, r.id, r.date, r.maker, r.core_batch, r.shot_batch, r.shot_mass_g, r.base_g, r.y,
    coalesce(
        least(
            abs(abs(r.y) - ln(10)), abs(abs(r.y) - ln(15.43)), abs(abs(r.y) - ln(16)),
            abs(abs(r.y) - ln(28.35)), abs(abs(r.y) - ln(453.6)), abs(abs(r.y) - ln(1000))
        ) <= 0.20,
        false
    ) as slip
from (
    select
        f.source, f.line, f.id, f.date, f.maker, f.core_batch, f.shot_batch, f.shot_mass_g, f.base_g,
        ln(case when f.shot_mass_g > 0 and f.base_g > 0 then f.shot_mass_g / f.base_g end) as y
    from (
        select
            b.source, b.line, b.id, b.date, b.maker, b.core_batch, b.shot_batch, b.shot_mass_g,
            coalesce(b.predicted_shot_g, b.computed_shot_g) as base_g
        from fill as b
    ) as f
) as r;

create view cord_check_ratio with (security_invoker = true) as
select
    r.source, r.line, r.id, r.date, r.strand_batch, r.checked_mass_g, r.base_g, r.y,
    coalesce(
        least(
            abs(abs(r.y) - ln(10)), abs(abs(r.y) - ln(15.43)), abs(abs(r.y) - ln(16)),
            abs(abs(r.y) - ln(28.35)), abs(abs(r.y) - ln(453.6)), abs(abs(r.y) - ln(1000))
        ) <= 0.20,
        false
    ) as slip
from (
    select
        f.source, f.line, f.id, f.date, f.strand_batch, f.checked_mass_g, f.base_g,
        ln(case when f.checked_mass_g > 0 and f.base_g > 0 then f.checked_mass_g / f.base_g end) as y
    from (
        select
            b.source, b.line, b.id, b.date, b.strand_batch, b.checked_mass_g,
            coalesce(b.predicted_mass_g, b.computed_mass_g) as base_g
        from cord_check as b
    ) as f
) as r;

-- quantity: shot, body, weight, length or strand. kind: builds, fills or checks.
-- measured, base, planned: g, for length and strand mm. y: ln(measured/base), NULL where
-- body is not positive. shot_base: the part of a weight's base that is shot. excluded: why no
-- fit may use the row, NULL where it may. set_aside: the maker's own reason. A cord check has the level (check) for maker and
-- product: nobody plaited it.
create view observation with (security_invoker = true) as
select
    q.quantity as quantity, 'builds' as kind, b.id, b.date, b.started as started,
    b.maker as maker, b.core_batch as core_batch, b.strand_batch as strand_batch,
    b.shot_batch as shot_batch, b.product as product,
    case q.quantity
        when 'shot' then b.shot_used_g
        when 'body' then b.body_g
        when 'weight' then b.weight_g
        when 'length' then b.length_mm
        else b.strand_used_mm
    end as measured,
    case q.quantity
        when 'shot' then b.shot_base_g
        when 'body' then b.body_base_g
        when 'weight' then b.weight_base_g
        when 'length' then b.length_base_mm
        else b.strand_base_mm
    end as base,
    case q.quantity
        when 'shot' then b.shot_planned_g
        when 'body' then b.body_planned_g
        when 'weight' then b.weight_planned_g
        when 'length' then b.length_planned_mm
        else b.strand_base_mm
    end as planned,
    case when q.quantity = 'weight' then b.shot_base_g end as shot_base,
    case q.quantity
        when 'shot' then b.shot_y
        when 'body' then b.body_y
        when 'weight' then b.weight_y
        when 'length' then b.length_y
        else b.strand_y
    end as y,
    case
        when b.set_aside is not null then 'set aside by hand'
        when q.quantity = 'body' and (b.weight_slip or b.shot_slip) then 'unit slip in weight or shot'
        when q.quantity = 'body' and b.weight_g <= b.shot_used_g then 'weight is not above shot used'
        when case q.quantity
                when 'shot' then b.shot_slip
                when 'weight' then b.weight_slip
                when 'length' then b.length_slip
                when 'strand' then b.strand_slip
            end then 'unit slip'
    end as excluded,
    b.set_aside as set_aside
from build_ratio as b
cross join (
    select 'shot' as quantity
    union all
    select 'body' as quantity
    union all
    select 'weight' as quantity
    union all
    select 'length' as quantity
    union all
    select 'strand' as quantity
) as q
where case q.quantity
        when 'shot' then b.shot_y is not null
        when 'body' then b.body_g is not null and b.body_base_g > 0
        when 'weight' then b.weight_y is not null
        when 'length' then b.length_y is not null
        else b.strand_y is not null
    end
union all
select
    'shot' as quantity, 'fills' as kind, f.id, f.date, cast(null as date) as started,
    f.maker as maker, f.core_batch as core_batch, cast(null as text) as strand_batch,
    f.shot_batch as shot_batch, cast(null as text) as product,
    f.shot_mass_g as measured, f.base_g as base, f.base_g as planned,
    cast(null as double precision) as shot_base,
    f.y as y,
    case
        when f.slip then 'unit slip'
    end as excluded,
    cast(null as text) as set_aside
from fill_ratio as f
where f.y is not null
union all
select
    'body' as quantity, 'checks' as kind, c.id, c.date, cast(null as date) as started,
    '(check)' as maker, cast(null as text) as core_batch, c.strand_batch as strand_batch,
    cast(null as text) as shot_batch, '(check)' as product,
    c.checked_mass_g as measured, c.base_g as base, c.base_g as planned,
    cast(null as double precision) as shot_base,
    c.y as y,
    case
        when c.slip then 'unit slip'
    end as excluded,
    cast(null as text) as set_aside
from cord_check_ratio as c
where c.y is not null;

-- Every label of every row, with the column it stands in and the file that has it.
create view label with (security_invoker = true) as
select 'maker' as effect, maker as label, source from build where maker is not null
union all
select 'core_batch' as effect, core_batch as label, source from build where core_batch is not null
union all
select 'strand_batch' as effect, strand_batch as label, source from build where strand_batch is not null
union all
select 'shot_batch' as effect, shot_batch as label, source from build where shot_batch is not null
union all
select 'product' as effect, product as label, source from build where product is not null
union all
select 'maker' as effect, maker as label, source from fill where maker is not null
union all
select 'core_batch' as effect, core_batch as label, source from fill where core_batch is not null
union all
select 'shot_batch' as effect, shot_batch as label, source from fill where shot_batch is not null
union all
select 'strand_batch' as effect, strand_batch as label, source from cord_check where strand_batch is not null
union all
select 'product' as effect, product as label, source from product where product is not null
union all
select 'product' as effect, product as label, source from part where product is not null;

-- The splits in force.
create view split_open with (security_invoker = true) as
select effect, label, since
from split
where undone_at is null;

-- Every row with an id, by kind as files name it, and where it came from.
create view log_row with (security_invoker = true) as
select 'products' as kind, product as id, source, line from product
union all
select 'fills' as kind, id, source, line from fill
union all
select 'checks' as kind, id, source, line from cord_check
union all
select 'builds' as kind, id, source, line from build;

-- Every row that amendments replaced, by kind as files name it; the id of a part is its
-- product.
create view replaced_row with (security_invoker = true) as
select 'parts' as kind, product as id, source, line, replaced_at, replaced_by from part_history
union all
select 'products' as kind, product as id, source, line, replaced_at, replaced_by from product_history
union all
select 'fills' as kind, id, source, line, replaced_at, replaced_by from fill_history
union all
select 'checks' as kind, id, source, line, replaced_at, replaced_by from cord_check_history
union all
select 'builds' as kind, id, source, line, replaced_at, replaced_by from build_history;

-- Every row there is or was, with the file that replaced it, NULL where none did.
create view row_version with (security_invoker = true) as
select 'parts' as kind, product as id, source, line, cast(null as integer) as replaced_by from part
union all
select kind, id, source, line, cast(null as integer) as replaced_by from log_row
union all
select kind, id, source, line, replaced_by from replaced_row;

-- The builds and what they are recognised by. chr(31) stands in no label, so that no two rows
-- run together into the same text.
create view digest with (security_invoker = true) as
select
    b.maker, b.id, b.date,
    md5(concat_ws(
        chr(31),
        b.id,
        coalesce(cast(b.date as text), ''),
        coalesce(cast(b.started as text), ''),
        coalesce(b.maker, ''),
        coalesce(b.core_batch, ''),
        coalesce(b.strand_batch, ''),
        coalesce(b.shot_batch, ''),
        coalesce(b.product, ''),
        coalesce(b.set_aside, ''),
        coalesce(figure(b.weight_g), ''),
        coalesce(figure(b.length_mm), ''),
        coalesce(figure(b.shot_used_g), ''),
        coalesce(figure(b.strand_cut_mm), ''),
        coalesce(figure(b.strand_left_mm), ''),
        coalesce(figure(b.load_length_mm), ''),
        coalesce(figure(b.predicted_weight_g), ''),
        coalesce(figure(b.predicted_length_mm), ''),
        coalesce(figure(b.predicted_shot_g), ''),
        coalesce(figure(b.predicted_strand_mm), ''),
        coalesce(figure(b.computed_weight_g), ''),
        coalesce(figure(b.computed_length_mm), ''),
        coalesce(figure(b.computed_shot_g), ''),
        coalesce(figure(b.computed_strand_mm), ''),
        coalesce(figure(b.shot_factor), ''),
        coalesce(figure(b.body_factor), ''),
        coalesce(figure(b.length_factor), '')
    )) as digest
from build as b;
