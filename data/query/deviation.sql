-- How far builds lie from the planner's figure of the quantity shown: the |y| that the given
-- share of the builds kept, and of one more to come, does not pass. No row where there are too
-- few for that.
-- Parameters: $1 quantity, $2 share, $3 what a rank may be off by rounding.
-- Columns: |y|.
select r.deviation
from (
    select
        abs(o.y) as deviation,
        row_number() over (order by abs(o.y)) as place,
        count(*) over () as builds
    from observed as o
    left join aside as a on a.quantity = $1 and a.n = o.n
    where o.built and o.eligible and a.n is null
) as r
where r.place = ceil((r.builds + 1) * cast($2 as double precision) - cast($3 as double precision));
