-- Makes the views that a part's server sums up for others, in the part's schema, which is first
-- in the search path.
-- Parameters: none.
-- Columns: none.

-- The builds at work for a fit, with all their quantities, as the temporary table compared has
-- them, but with labels: maker as it is, the levels as splits make them.
create view compared with (security_invoker = true) as
select
    f.fit, b.maker,
    cast(b.source as bigint) * 4294967296 + b.line as n,
    b.id, b.date,
    case
        when f.splits then coalesce((
            select s.label || ' from ' || cast(max(s.since) as text)
            from fit_split as s
            where s.fit = f.fit and s.effect = 'maker' and s.label = b.maker and s.since <= b.date
            group by s.label
        ), b.maker)
        else b.maker
    end as maker_level,
    case
        when f.splits then coalesce((
            select s.label || ' from ' || cast(max(s.since) as text)
            from fit_split as s
            where s.fit = f.fit and s.effect = 'core_batch' and s.label = b.core_batch and s.since <= b.date
            group by s.label
        ), b.core_batch, '')
        else coalesce(b.core_batch, '')
    end as core_batch,
    case
        when f.splits then coalesce((
            select s.label || ' from ' || cast(max(s.since) as text)
            from fit_split as s
            where s.fit = f.fit and s.effect = 'strand_batch' and s.label = b.strand_batch and s.since <= b.date
            group by s.label
        ), b.strand_batch, '')
        else coalesce(b.strand_batch, '')
    end as strand_batch,
    case
        when f.splits then coalesce((
            select s.label || ' from ' || cast(max(s.since) as text)
            from fit_split as s
            where s.fit = f.fit and s.effect = 'shot_batch' and s.label = b.shot_batch and s.since <= b.date
            group by s.label
        ), b.shot_batch, '')
        else coalesce(b.shot_batch, '')
    end as shot_batch,
    b.product,
    b.shot_y, b.body_y, b.weight_y, b.length_y, b.strand_y,
    case when b.body_y is null and b.body_base_g > 0 then b.body_g / b.body_base_g end as no_body_ratio,
    cast(case
        when f.everything or b.shot_y is null then null
        when b.set_aside is not null then 1
        when b.shot_slip then 2
    end as smallint) as shot_out,
    cast(case
        when b.body_g is null or b.body_base_g is null or b.body_base_g <= 0 then null
        when f.everything and b.body_y is not null then null
        when b.set_aside is not null then 1
        when b.weight_slip or b.shot_slip then 3
        when b.weight_g <= b.shot_used_g then 4
    end as smallint) as body_out,
    cast(case
        when f.everything or b.weight_y is null then null
        when b.set_aside is not null then 1
        when b.weight_slip then 2
    end as smallint) as weight_out,
    cast(case
        when f.everything or b.length_y is null then null
        when b.set_aside is not null then 1
        when b.length_slip then 2
    end as smallint) as length_out,
    cast(case
        when f.everything or b.strand_y is null then null
        when b.set_aside is not null then 1
        when b.strand_slip then 2
    end as smallint) as strand_out
from fit as f
join build_ratio as b on b.date <= f.through;

-- One quantity of them a row, where the build states it: eligible where fits may use it, reason
-- why not as in compared.
create view observed with (security_invoker = true) as
select
    o.fit, o.quantity, o.maker, o.n, o.id, o.date, o.maker_level, o.core_batch, o.strand_batch, o.shot_batch,
    o.product, o.y, o.y is not null and o.reason is null as eligible,
    coalesce(exp(o.y), o.no_body_ratio) as ratio, o.reason
from (
    select
        c.fit, q.quantity, c.maker, c.n, c.id, c.date, c.maker_level, c.core_batch, c.strand_batch, c.shot_batch,
        c.product,
        case q.quantity
            when 'shot' then c.shot_y
            when 'body' then c.body_y
            when 'weight' then c.weight_y
            when 'length' then c.length_y
            when 'strand' then c.strand_y
        end as y,
        case when q.quantity = 'body' then c.no_body_ratio end as no_body_ratio,
        case q.quantity
            when 'shot' then c.shot_out
            when 'body' then c.body_out
            when 'weight' then c.weight_out
            when 'length' then c.length_out
            when 'strand' then c.strand_out
        end as reason
    from compared as c
    cross join (
        values ('shot'), ('body'), ('weight'), ('length'), ('strand')
    ) as q (quantity)
) as o
where o.y is not null or o.reason is not null;

-- What a fit leaves of the eligible ones, the mean not taken off yet: fitted is what the levels
-- add up to, lone the value of a level with one row in the fit at most.
create view residual with (security_invoker = true) as
select
    o.fit, o.quantity, o.maker, o.n, o.y,
    coalesce(ma.value, 0) as maker_value,
    coalesce(co.value, 0) as core_batch_value,
    coalesce(st.value, 0) as strand_batch_value,
    coalesce(sh.value, 0) as shot_batch_value,
    coalesce(pr.value, 0) as product_value,
    1 + coalesce(ma.theta2, 0) + coalesce(co.theta2, 0) + coalesce(st.theta2, 0) + coalesce(sh.theta2, 0)
        + coalesce(pr.theta2, 0) as variance,
    ma.lone as maker_lone, co.lone as core_batch_lone, st.lone as strand_batch_lone,
    sh.lone as shot_batch_lone, pr.lone as product_lone
from observed as o
left join fit_level as ma
    on ma.fit = o.fit and ma.quantity = o.quantity and ma.effect = 'maker' and ma.label = o.maker_level
left join fit_level as co
    on co.fit = o.fit and co.quantity = o.quantity and co.effect = 'core_batch' and co.label = o.core_batch
left join fit_level as st
    on st.fit = o.fit and st.quantity = o.quantity and st.effect = 'strand_batch' and st.label = o.strand_batch
left join fit_level as sh
    on sh.fit = o.fit and sh.quantity = o.quantity and sh.effect = 'shot_batch' and sh.label = o.shot_batch
left join fit_level as pr
    on pr.fit = o.fit and pr.quantity = o.quantity and pr.effect = 'product' and pr.label = o.product
where o.eligible;

-- What both fits, of shot and of body, leave of builds, the means not taken off.
create view residual_pair with (security_invoker = true) as
select
    s.fit, s.maker, s.n,
    s.y - (s.maker_value + s.core_batch_value + s.strand_batch_value + s.shot_batch_value + s.product_value) as shot,
    b.y - (b.maker_value + b.core_batch_value + b.strand_batch_value + b.shot_batch_value + b.product_value) as body
from residual as s
join residual as b on b.fit = s.fit and b.maker = s.maker and b.n = s.n
where s.quantity = 'shot' and b.quantity = 'body';

-- What is counted of builds: weighed and split (weight, and shot beside it, measured and
-- planned), unpredicted (nothing measured is planned).
create view tally with (security_invoker = true) as
select
    b.maker, b.date, b.source,
    coalesce(b.weight_g > 0 and b.weight_base_g > 0, false) as weighed,
    coalesce(b.weight_g > 0 and b.weight_base_g > 0 and b.shot_used_g > 0 and b.shot_base_g > 0, false) as split,
    coalesce(
        case when b.weight_g > 0 and b.weight_base_g > 0 then 1 end,
        case when b.length_mm > 0 and b.length_base_mm > 0 then 1 end,
        case when b.shot_used_g > 0 and b.shot_base_g > 0 then 1 end,
        case when b.strand_used_mm > 0 and b.strand_base_mm > 0 then 1 end
    ) is null as unpredicted
from build_base as b;

-- The loads planned per length, g/mm.
create view load with (security_invoker = true) as
select b.maker, b.date, b.predicted_shot_g / coalesce(b.shot_factor, 1) / b.load_length_mm as load_g_mm
from build as b
where b.predicted_shot_g is not null and b.load_length_mm > 0;

grant select on build_base, build_ratio, compared, observed, residual, residual_pair, digest, tally, load to trueplait_workshop;
