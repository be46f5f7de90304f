-- Lists the newest eligible observations of the quantity shown. Whole days are counted from
-- the last one back, those of builds by their servers, so that only their rows move.
-- Parameters: $1 how many at most.
-- Columns: kind, id, date, maker, core batch, strand batch, shot batch, product (0: blank),
-- y = ln(measured/base); ordered by date, id, kind, all falling.
with key as (
    select k.fit, k.quantity
    from fit_key as k
), daily as (
    select b.maker, b.date, count(*) as rows
    from observed_build as b
    where b.fit = (select fit from key) and b.quantity = (select quantity from key) and b.eligible
    group by b.maker, b.date
), first as (
    select coalesce(max(d.date), date '0001-01-01') as date
    from (
        select date, sum(sum(rows)) over (order by date desc) as rows
        from daily
        group by date
    ) as d
    where d.rows >= $1
)
select kind, id, date, maker, core_batch, strand_batch, shot_batch, product, y
from observed
where eligible and date >= (select date from first)
order by date desc, id desc, kind desc
limit $1;
