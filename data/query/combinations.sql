-- Lists the combinations of levels seen in builds and, for shot, in test fills, measured or
-- not.
-- Parameters: $1 quantity; $2 to $6 whether maker, core batch, strand batch, shot batch,
-- product are wanted.
-- Columns: maker, core batch, strand batch, shot batch, product (0: not wanted); ordered.
-- A combination with a wanted label that is blank is left out.
select distinct
    case when $2 then maker else 0 end as maker,
    case when $3 then core_batch else 0 end as core_batch,
    case when $4 then strand_batch else 0 end as strand_batch,
    case when $5 then shot_batch else 0 end as shot_batch,
    case when $6 then product else 0 end as product
from compared
where (built or $1 = 'shot' and core_batch > 0)
    and (not $2 or maker > 0)
    and (not $3 or core_batch > 0)
    and (not $4 or strand_batch > 0)
    and (not $5 or shot_batch > 0)
    and (not $6 or product > 0)
order by maker, core_batch, strand_batch, shot_batch, product;
