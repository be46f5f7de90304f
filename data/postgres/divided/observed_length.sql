-- Makes observed the temporary view of the observations of length. What is asked of it moves rows.
-- Parameters: none.
-- Columns: those that a log in one place has.
update fit_key set quantity = 'length';
create or replace temporary view observed as
select
    r.n, r.built, r.kind, r.id, r.date, r.maker, r.core_batch, r.strand_batch, r.shot_batch, r.product,
    r.y, r.eligible, r.ratio, r.reason
from (
    select
        o.n, true as built, 'builds' as kind, o.id, o.date, coalesce(ma.n, 0) as maker, coalesce(co.n, 0) as core_batch,
        coalesce(st.n, 0) as strand_batch, coalesce(sh.n, 0) as shot_batch, coalesce(pr.n, 0) as product,
        o.y, o.eligible, o.ratio, o.reason
    from observed_build as o
    left join level as ma on ma.effect = 'maker' and ma.label = o.maker_level
    left join level as co on co.effect = 'core_batch' and co.label = o.core_batch
    left join level as st on st.effect = 'strand_batch' and st.label = o.strand_batch
    left join level as sh on sh.effect = 'shot_batch' and sh.label = o.shot_batch
    left join level as pr on pr.effect = 'product' and pr.label = o.product
    where o.fit = (select k.fit from fit_key as k) and o.quantity = 'length'
) as r;
