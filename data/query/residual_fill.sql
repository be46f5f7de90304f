-- Works out what fits say of the eligible observations of the quantities that have one. A
-- level that a fit does not have counts as 0.
-- Parameters: none.
-- Columns: those of residual.
insert into residual (
    quantity, kind, id, date, maker, core_batch, strand_batch, shot_batch, product, ratio, residual, t,
    kept, maker_value, core_batch_value, strand_batch_value, shot_batch_value, product_value
)
select
    r.quantity, r.kind, r.id, r.date, r.maker, r.core_batch, r.strand_batch, r.shot_batch,
    r.product, r.ratio, r.residual,
    r.residual / sqrt(1 + r.blank_theta2) as t,
    r.kept,
    r.maker_value, r.core_batch_value, r.strand_batch_value, r.shot_batch_value, r.product_value
from (
    select
        o.quantity, o.kind, o.id, o.date, o.maker, o.core_batch, o.strand_batch, o.shot_batch,
        o.product, o.measured / o.base as ratio,
        o.y - f.mean
            - coalesce(ma.value, 0)
            - coalesce(co.value, 0)
            - coalesce(st.value, 0)
            - coalesce(sh.value, 0)
            - coalesce(pr.value, 0) as residual,
        case when o.maker is null then f.maker_theta2 else 0 end
            + case when o.core_batch is null then f.core_batch_theta2 else 0 end
            + case when o.strand_batch is null then f.strand_batch_theta2 else 0 end
            + case when o.shot_batch is null then f.shot_batch_theta2 else 0 end
            + case when o.product is null then f.product_theta2 else 0 end as blank_theta2,
        o.kept,
        coalesce(ma.value, 0) as maker_value,
        coalesce(co.value, 0) as core_batch_value,
        coalesce(st.value, 0) as strand_batch_value,
        coalesce(sh.value, 0) as shot_batch_value,
        coalesce(pr.value, 0) as product_value
    from compared as o
    join fitted as f on f.quantity = o.quantity
    left join fitted_level as ma
        on ma.quantity = o.quantity and ma.effect = 'maker' and ma.level = o.maker
    left join fitted_level as co
        on co.quantity = o.quantity and co.effect = 'core_batch' and co.level = o.core_batch
    left join fitted_level as st
        on st.quantity = o.quantity and st.effect = 'strand_batch' and st.level = o.strand_batch
    left join fitted_level as sh
        on sh.quantity = o.quantity and sh.effect = 'shot_batch' and sh.level = o.shot_batch
    left join fitted_level as pr
        on pr.quantity = o.quantity and pr.effect = 'product' and pr.level = o.product
    where o.excluded is null
) as r;
