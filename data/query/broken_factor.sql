-- Lists factors of calibrations that are not there, of unknown quantities, stated twice, or
-- that no cord or core could have.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'calibration' as kind, cast(f.number as text) as id, f.problem || f.quantity as detail
from (
    select g.number, g.quantity, 'is not there and has a factor for ' as problem
    from calibration_factor as g
    where not exists (select 1 from calibration as c where c.number = g.number)
    union all
    select g.number, g.quantity, 'has a factor for what is no quantity: ' as problem
    from calibration_factor as g
    where g.quantity not in ('shot', 'body', 'weight', 'length', 'strand')
    union all
    select g.number, g.quantity, 'has the factor ' || cast(g.factor as text) || ' for ' as problem
    from calibration_factor as g
    where not (g.factor > 0 and g.factor < cast('infinity' as double precision))
    union all
    select g.number, g.quantity, 'has the same factor twice for ' as problem
    from calibration_factor as g
    group by g.number, g.quantity, g.maker, g.core_batch, g.strand_batch, g.shot_batch, g.product
    having count(*) > 1
) as f
order by f.number, detail;
