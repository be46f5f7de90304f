-- Numbers the levels of the rows up to a date. A cord check has the level (check) for maker
-- and product: nobody plaited it.
-- Parameters: $1 the last date.
-- Columns: those of level.
insert into level (effect, n, label)
select effect, row_number() over (partition by effect order by label), label
from (
    select distinct l.effect, l.label
    from (
        select maker, core_batch, strand_batch, shot_batch, product
        from build
        where date <= $1
        group by maker, core_batch, strand_batch, shot_batch, product
    ) as b
    cross join lateral (
        values
            ('maker', b.maker), ('core_batch', b.core_batch), ('strand_batch', b.strand_batch),
            ('shot_batch', b.shot_batch), ('product', b.product)
    ) as l (effect, label)
    union
    select distinct 'maker' as effect, maker as label from fill where date <= $1
    union
    select distinct 'core_batch' as effect, core_batch as label from fill where date <= $1
    union
    select distinct 'shot_batch' as effect, shot_batch as label from fill where date <= $1
    union
    select distinct 'strand_batch' as effect, strand_batch as label from cord_check where date <= $1
    union
    select distinct 'maker' as effect, '(check)' as label from cord_check where date <= $1
    union
    select distinct 'product' as effect, '(check)' as label from cord_check where date <= $1
    union
    select effect, label || ' from ' || cast(since as text) as label from split_open
) as l
where label is not null;
