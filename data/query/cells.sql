-- Sums up the eligible observations of the quantity shown that the fit did not leave out,
-- per kind and combination of levels. The sum of squares is taken about the mean, which a
-- difference of large sums would lose.
-- The rows left out are looked up, not joined: a join may change the order of the rows and with
-- it the last digits of their sums, and a fit of the same rows must come out the same.
-- Parameters: $1 quantity; $2 to $6 whether maker, core batch, strand batch, shot batch,
-- product are effects of the quantity.
-- Columns: whether builds, maker, core batch, strand batch, shot batch, product (0: blank, or
-- not an effect), number, mean of y, sum of squares about it; ordered by builds first, levels.
select built, maker, core_batch, strand_batch, shot_batch, product,
    count(*), avg(y), var_pop(y) * count(*)
from (
    select
        o.built,
        case when $2 then o.maker else 0 end as maker,
        case when $3 then o.core_batch else 0 end as core_batch,
        case when $4 then o.strand_batch else 0 end as strand_batch,
        case when $5 then o.shot_batch else 0 end as shot_batch,
        case when $6 then o.product else 0 end as product,
        o.y
    from observed as o
    where o.eligible and o.n not in (select a.n from aside as a where a.quantity = $1)
) as e
group by built, maker, core_batch, strand_batch, shot_batch, product
order by built desc, maker, core_batch, strand_batch, shot_batch, product;
