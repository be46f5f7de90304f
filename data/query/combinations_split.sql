-- Lists the combinations of labels seen in builds and, for shot, in test fills, measured or
-- not, with the levels that splits make.
-- Parameters: $1 quantity, $2 the last date; $3 to $7 whether maker, core batch, strand
-- batch, shot batch, product are wanted.
-- Columns: maker, core batch, strand batch, shot batch, product (NULL: not wanted); ordered.
-- A combination with a wanted label that is blank is left out.
select distinct
    case when $3 then maker end as maker,
    case when $4 then core_batch end as core_batch,
    case when $5 then strand_batch end as strand_batch,
    case when $6 then shot_batch end as shot_batch,
    case when $7 then product end as product
from (
    select
        date,
        maker || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'maker' and s.label = r.maker and s.since <= r.date
    ), '') as maker,
        core_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'core_batch' and s.label = r.core_batch and s.since <= r.date
    ), '') as core_batch,
        strand_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'strand_batch' and s.label = r.strand_batch and s.since <= r.date
    ), '') as strand_batch,
        shot_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'shot_batch' and s.label = r.shot_batch and s.since <= r.date
    ), '') as shot_batch,
        product
    from (
        select date, maker, core_batch, strand_batch, shot_batch, product
        from build
        union all
        select date, maker, core_batch, cast(null as text), shot_batch, cast(null as text)
        from fill
        where $1 = 'shot'
    ) as r
) as l
where date <= $2
    and (not $3 or maker is not null)
    and (not $4 or core_batch is not null)
    and (not $5 or strand_batch is not null)
    and (not $6 or shot_batch is not null)
    and (not $7 or product is not null)
order by maker, core_batch, strand_batch, shot_batch, product;
