-- How far builds lie from the planner's figure: the |y| that the given share of the builds
-- kept, and of one more to come, does not pass. No row where there are too few for that.
-- Parameters: $1 quantity, $2 share, $3 what a rank may be off by rounding.
-- Columns: |y|.
select r.deviation
from (
    select
        abs(y) as deviation,
        row_number() over (order by abs(y)) as place,
        count(*) over () as builds
    from compared
    where quantity = $1 and kind = 'builds' and excluded is null and kept
) as r
where r.place = ceil((r.builds + 1) * $2 - $3);
