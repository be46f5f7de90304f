-- Sums up the eligible observations of a quantity per kind and combination of labels. The
-- sum of squares is taken about the mean, which a difference of large sums would lose.
-- Parameters: $1 quantity; $2 to $6 whether maker, core batch, strand
-- batch, shot batch, product are effects of the quantity. Rows that the fit left out are not kept.
-- Columns: kind, maker, core batch, strand batch, shot batch, product (NULL: blank, or not an
-- effect), number, mean of y, sum of squares about it; ordered by kind and labels, blank first.
select kind, maker, core_batch, strand_batch, shot_batch, product,
    count(*), avg(y), var_pop(y) * count(*)
from (
    select
        o.kind,
        case when $2 then o.maker end as maker,
        case when $3 then o.core_batch end as core_batch,
        case when $4 then o.strand_batch end as strand_batch,
        case when $5 then o.shot_batch end as shot_batch,
        case when $6 then o.product end as product,
        o.y
    from compared as o
    where o.quantity = $1 and o.excluded is null and o.kept
) as e
group by kind, maker, core_batch, strand_batch, shot_batch, product
order by kind, coalesce(maker, ''), coalesce(core_batch, ''), coalesce(strand_batch, ''),
    coalesce(shot_batch, ''), coalesce(product, '');
