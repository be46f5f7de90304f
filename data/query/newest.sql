-- Lists the newest eligible observations of the quantity shown. Whole days are counted from
-- the last one back, so that only their rows are put in order.
-- Parameters: $1 how many at most.
-- Columns: kind, id, date, maker, core batch, strand batch, shot batch, product (0: blank),
-- y = ln(measured/base); ordered by date, id, kind, all falling.
select kind, id, date, maker, core_batch, strand_batch, shot_batch, product, y
from observed
where eligible
    and date >= (
        select coalesce(max(d.date), date '0001-01-01')
        from (
            select date, sum(count(*)) over (order by date desc) as rows
            from observed
            where eligible
            group by date
        ) as d
        where d.rows >= $1
    )
order by date desc, id desc, kind desc
limit $1;
