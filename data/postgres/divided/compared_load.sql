-- Puts rows to work: those up to a date. The servers are told which builds, and of the splits.
-- Parameters: $1 the last date, $2 whether nothing with a ratio is excluded.
-- Columns: those of compared.
with key as (
    insert into fit_key (fit)
    values (cast(gen_random_uuid() as text))
    returning fit
), told as (
    insert into fit (server, fit, through, everything, splits)
    select s.name, k.fit, $1, $2, exists (select 1 from split_open)
    from key as k
    cross join part_server as s
), told_split as (
    insert into fit_split (server, fit, effect, label, since)
    select s.name, k.fit, o.effect, o.label, o.since
    from key as k
    cross join part_server as s
    cross join split_open as o
)
insert into compared (
    n, built, id, date, maker, core_batch, strand_batch, shot_batch, product,
    shot_y, body_y, weight_y, length_y, strand_y, no_body_ratio,
    shot_out, body_out, weight_out, length_out, strand_out
)
select
    cast(f.source as bigint) * 4294967296 + f.line, false, f.id, f.date,
    coalesce(ma.n, 0), coalesce(co.n, 0), 0, coalesce(sh.n, 0), 0,
    f.y, cast(null as double precision), cast(null as double precision), cast(null as double precision),
    cast(null as double precision), cast(null as double precision),
    cast(case when f.slip and not $2 then 2 end as smallint), cast(null as smallint), cast(null as smallint),
    cast(null as smallint), cast(null as smallint)
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
