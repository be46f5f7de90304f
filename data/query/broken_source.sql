-- Lists files that are not numbered 1, 2, 3, …, and bytes of files that are not kept.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'file' as kind, cast(n.number as text) as id,
    'is number ' || cast(n.place as text) || ' in order' as detail
from (
    select number, row_number() over (order by number) as place
    from source
) as n
where n.number <> n.place
union all
select 'file' as kind, cast(p.source as text) as id, 'has bytes but is not kept' as detail
from source_piece as p
left join source as s on s.number = p.source
where s.number is null
order by kind, id, detail;
