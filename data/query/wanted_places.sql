-- Places the wanted rows among the eligible rows of their level, of the quantity shown.
-- Parameters: none.
-- Columns: place in the list, place in the level (from 1, by date, id, kind), rows of the level;
-- ordered by the first.
select place, cast(sum(earlier) + 1 as integer), count(*)
from (
    select w.place,
        case
            when o.date < w.date then 1
            when o.date = w.date and (o.id, o.kind) < (w.id, w.kind) then 1
            else 0
        end as earlier
    from wanted as w
    join observed as o on o.maker = w.level
    where w.effect = 'maker' and o.eligible
    union all
    select w.place,
        case
            when o.date < w.date then 1
            when o.date = w.date and (o.id, o.kind) < (w.id, w.kind) then 1
            else 0
        end as earlier
    from wanted as w
    join observed as o on o.core_batch = w.level
    where w.effect = 'core_batch' and o.eligible
    union all
    select w.place,
        case
            when o.date < w.date then 1
            when o.date = w.date and (o.id, o.kind) < (w.id, w.kind) then 1
            else 0
        end as earlier
    from wanted as w
    join observed as o on o.strand_batch = w.level
    where w.effect = 'strand_batch' and o.eligible
    union all
    select w.place,
        case
            when o.date < w.date then 1
            when o.date = w.date and (o.id, o.kind) < (w.id, w.kind) then 1
            else 0
        end as earlier
    from wanted as w
    join observed as o on o.shot_batch = w.level
    where w.effect = 'shot_batch' and o.eligible
    union all
    select w.place,
        case
            when o.date < w.date then 1
            when o.date = w.date and (o.id, o.kind) < (w.id, w.kind) then 1
            else 0
        end as earlier
    from wanted as w
    join observed as o on o.product = w.level
    where w.effect = 'product' and o.eligible
) as r
group by place
order by place;
