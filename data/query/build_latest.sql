-- The latest build of a product, its labels as splits have them.
-- Parameters: $1 the last date, $2 the product ('': any).
-- Columns: id, maker, core batch, strand batch, shot batch, product; by date, then id.
select
    id,
    maker || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'maker' and s.label = build.maker and s.since <= build.date
    ), ''),
    core_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'core_batch' and s.label = build.core_batch and s.since <= build.date
    ), ''),
    strand_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'strand_batch' and s.label = build.strand_batch and s.since <= build.date
    ), ''),
    shot_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'shot_batch' and s.label = build.shot_batch and s.since <= build.date
    ), ''),
    product
from build
where date <= $1 and ($2 = '' or product = $2)
order by date desc, id desc
limit 1;
