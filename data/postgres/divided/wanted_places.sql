-- Places the wanted rows among the eligible rows of their level, of the quantity shown: the rows
-- of earlier days are counted, those of builds by their servers, and only those of its own days
-- are put in order.
-- Parameters: $1 the effect that the levels are of.
-- Columns: place in the list, place in the level (from 1, by date, id, kind), rows of the level;
-- ordered by the first.
with key as (
    select k.fit, k.quantity
    from fit_key as k
), asked as (
    select distinct l.n, l.label
    from wanted as w
    join level as l on l.effect = $1 and l.n = w.level
), other as (
    select c.id, c.date, case when c.core_batch > 0 then 'fills' else 'checks' end as kind,
        case $1
            when 'maker' then c.maker
            when 'core_batch' then c.core_batch
            when 'strand_batch' then c.strand_batch
            when 'shot_batch' then c.shot_batch
            when 'product' then c.product
        end as level
    from compared as c
    cross join key as k
    where case k.quantity
            when 'shot' then c.shot_y is not null and c.shot_out is null
            when 'body' then c.body_y is not null and c.body_out is null
            else false
        end
), daily as (
    select o.maker, o.label, o.date, count(*) as rows
    from (
        select b.maker, b.date,
            case $1
                when 'maker' then b.maker_level
                when 'core_batch' then b.core_batch
                when 'strand_batch' then b.strand_batch
                when 'shot_batch' then b.shot_batch
                when 'product' then b.product
            end as label
        from observed_build as b
        where b.fit = (select fit from key) and b.quantity = (select quantity from key) and b.eligible
    ) as o
    where o.label = any (array(select label from asked))
    group by o.maker, o.label, o.date
), day as (
    select a.n as level, d.date, d.rows
    from daily as d
    join asked as a on a.label = d.label
    union all
    select o.level, o.date, 1
    from other as o
    join asked as a on a.n = o.level
), counted as (
    select level, date,
        sum(sum(rows)) over (partition by level order by date) - sum(rows) as earlier,
        sum(sum(rows)) over (partition by level) as rows
    from day
    group by level, date
), own as (
    select a.n as level, o.id, 'builds' as kind, o.date
    from (
        select b.id, b.date,
            case $1
                when 'maker' then b.maker_level
                when 'core_batch' then b.core_batch
                when 'strand_batch' then b.strand_batch
                when 'shot_batch' then b.shot_batch
                when 'product' then b.product
            end as label
        from observed_build as b
        where b.fit = (select fit from key) and b.quantity = (select quantity from key) and b.eligible
            and b.date = any (array(select date from wanted))
    ) as o
    join asked as a on a.label = o.label
    where o.label = any (array(select label from asked))
    union all
    select o.level, o.id, o.kind, o.date
    from other as o
    join asked as a on a.n = o.level
), ordered as (
    select level, id, kind, row_number() over (partition by level, date order by id, kind) as place
    from own
)
select w.place, cast(d.earlier + r.place as integer), cast(d.rows as integer)
from wanted as w
join counted as d on d.level = w.level and d.date = w.date
join ordered as r on r.level = w.level and r.id = w.id and r.kind = w.kind
order by w.place;
