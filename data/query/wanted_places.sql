-- Places the wanted rows among the eligible rows of their label.
-- Parameters: $1 quantity.
-- Columns: effect, kind, id, place (from 1, by date, id, kind), rows of the label; ordered by
-- effect, kind, id.
select w.effect, w.kind, w.id, r.place, r.label_rows
from wanted as w
join (
    select effect, label, kind, id,
        row_number() over (partition by effect, label order by date, id, kind) as place,
        count(*) over (partition by effect, label) as label_rows
    from (
        select 'maker' as effect, maker as label, kind, id, date
        from compared
        where quantity = $1 and excluded is null
            and maker in (select label from wanted where effect = 'maker')
        union all
        select 'core_batch' as effect, core_batch as label, kind, id, date
        from compared
        where quantity = $1 and excluded is null
            and core_batch in (select label from wanted where effect = 'core_batch')
        union all
        select 'strand_batch' as effect, strand_batch as label, kind, id, date
        from compared
        where quantity = $1 and excluded is null
            and strand_batch in (select label from wanted where effect = 'strand_batch')
        union all
        select 'shot_batch' as effect, shot_batch as label, kind, id, date
        from compared
        where quantity = $1 and excluded is null
            and shot_batch in (select label from wanted where effect = 'shot_batch')
        union all
        select 'product' as effect, product as label, kind, id, date
        from compared
        where quantity = $1 and excluded is null
            and product in (select label from wanted where effect = 'product')
    ) as o
) as r on r.effect = w.effect and r.label = w.label and r.kind = w.kind and r.id = w.id
order by w.effect, w.kind, w.id;
