-- Puts rows to work: those up to a date.
-- Parameters: $1 the last date, $2 whether nothing with a ratio is excluded.
-- Columns: those of compared.
insert into compared (
    n, built, id, date, maker, core_batch, strand_batch, shot_batch, product,
    shot_y, body_y, weight_y, length_y, strand_y, no_body_ratio,
    shot_out, body_out, weight_out, length_out, strand_out
)
select
    cast(b.source as bigint) * 4294967296 + b.line, true, b.id, b.date,
    coalesce(ma.n, 0), coalesce(co.n, 0), coalesce(st.n, 0), coalesce(sh.n, 0), coalesce(pr.n, 0),
    b.shot_y, b.body_y, b.weight_y, b.length_y, b.strand_y,
    case when b.body_y is null and b.body_base_g > 0 then b.body_g / b.body_base_g end,
    case
        when $2 or b.shot_y is null then null
        when b.set_aside is not null then 1
        when b.shot_slip then 2
    end,
    case
        when b.body_g is null or b.body_base_g is null or b.body_base_g <= 0 then null
        when $2 and b.body_y is not null then null
        when b.set_aside is not null then 1
        when b.weight_slip or b.shot_slip then 3
        when b.weight_g <= b.shot_used_g then 4
    end,
    case
        when $2 or b.weight_y is null then null
        when b.set_aside is not null then 1
        when b.weight_slip then 2
    end,
    case
        when $2 or b.length_y is null then null
        when b.set_aside is not null then 1
        when b.length_slip then 2
    end,
    case
        when $2 or b.strand_y is null then null
        when b.set_aside is not null then 1
        when b.strand_slip then 2
    end
from build_ratio as b
left join level as ma on ma.effect = 'maker' and ma.label = b.maker
left join level as co on co.effect = 'core_batch' and co.label = b.core_batch
left join level as st on st.effect = 'strand_batch' and st.label = b.strand_batch
left join level as sh on sh.effect = 'shot_batch' and sh.label = b.shot_batch
left join level as pr on pr.effect = 'product' and pr.label = b.product
where b.date <= $1
union all
select
    cast(f.source as bigint) * 4294967296 + f.line, false, f.id, f.date,
    coalesce(ma.n, 0), coalesce(co.n, 0), 0, coalesce(sh.n, 0), 0,
    f.y, null, null, null, null, null,
    case when f.slip and not $2 then 2 end, null, null, null, null
from fill_ratio as f
left join level as ma on ma.effect = 'maker' and ma.label = f.maker
left join level as co on co.effect = 'core_batch' and co.label = f.core_batch
left join level as sh on sh.effect = 'shot_batch' and sh.label = f.shot_batch
where f.date <= $1
union all
select
    cast(c.source as bigint) * 4294967296 + c.line, false, c.id, c.date,
    ma.n, 0, coalesce(st.n, 0), 0, pr.n,
    null, c.y, null, null, null, null,
    null, case when c.slip and not $2 then 2 end, null, null, null
from cord_check_ratio as c
join level as ma on ma.effect = 'maker' and ma.label = '(check)'
join level as pr on pr.effect = 'product' and pr.label = '(check)'
left join level as st on st.effect = 'strand_batch' and st.label = c.strand_batch
where c.date <= $1;
