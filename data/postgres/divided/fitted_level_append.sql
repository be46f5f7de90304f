-- Loads what fits say of levels, and tells the servers.
-- Parameters: none; the batch is the table appended.
-- Columns: those of fitted_level.
with told as (
    insert into fit_level (server, fit, quantity, effect, label, value, theta2, lone)
    select s.name, k.fit, a.quantity, a.effect, coalesce(l.label, ''), a.value, a.theta2, a.lone
    from appended as a
    left join level as l on l.effect = a.effect and l.n = a.level
    cross join fit_key as k
    cross join part_server as s
)
insert into fitted_level (quantity, effect, level, value, theta2, lone)
select quantity, effect, coalesce(level, 0), value, theta2, lone
from appended;
