-- The splits in force at a moment.
-- Parameters: $1 the moment.
-- Columns: those of split; ordered by effect, label, first day.
select effect, label, since, made_at, cast(null as timestamp) as undone_at
from split
where made_at <= cast($1 as timestamp) and (undone_at is null or undone_at > cast($1 as timestamp))
order by effect, label, since;
