-- Places the wanted rows among the eligible rows of their level, of the quantity shown: the rows
-- of earlier days are counted, and only those of its own days are put in order.
-- Parameters: $1 the effect that the levels are of.
-- Columns: place in the list, place in the level (from 1, by date, id, kind), rows of the level;
-- ordered by the first.
select w.place, cast(d.earlier + r.place as integer), cast(d.rows as integer)
from wanted as w
join (
    select level, date,
        sum(rows) over (partition by level order by date) - rows as earlier,
        sum(rows) over (partition by level) as rows
    from (
        select level, date, count(*) as rows
        from (
            select o.date,
                case $1
                    when 'maker' then o.maker
                    when 'core_batch' then o.core_batch
                    when 'strand_batch' then o.strand_batch
                    when 'shot_batch' then o.shot_batch
                    when 'product' then o.product
                end as level
            from observed as o
            where o.eligible
        ) as l
        where level in (select level from wanted)
        group by level, date
    ) as c
) as d on d.level = w.level and d.date = w.date
join (
    select l.level, l.id, l.kind,
        row_number() over (partition by l.level, l.date order by l.id, l.kind) as place
    from (
        select o.id, o.kind, o.date,
            case $1
                when 'maker' then o.maker
                when 'core_batch' then o.core_batch
                when 'strand_batch' then o.strand_batch
                when 'shot_batch' then o.shot_batch
                when 'product' then o.product
            end as level
        from observed as o
        where o.eligible
    ) as l
    join (select distinct level, date from wanted) as w on w.level = l.level and w.date = l.date
) as r on r.level = w.level and r.id = w.id and r.kind = w.kind
order by w.place;
