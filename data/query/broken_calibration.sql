-- Lists calibrations that are not numbered 1, 2, 3, …, those made from files that are not
-- there, and results of calibrations that are not there.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'calibration' as kind, cast(n.number as text) as id, n.detail
from (
    select c.number,
        case
            when c.number <> c.place then 'is number ' || cast(c.place as text) || ' in order'
            else 'was made after file ' || cast(c.newest_source as text) || ', which is not kept'
        end as detail
    from (
        select number, newest_source, row_number() over (order by number) as place
        from calibration
    ) as c
    where c.number <> c.place or c.newest_source < 0 or c.newest_source > (select coalesce(max(s.number), 0) from source as s)
    union all
    select p.number, 'is not there and has a result' as detail
    from calibration_piece as p
    left join calibration as c on c.number = p.number
    where c.number is null
    group by p.number
) as n
order by n.number, n.detail;
