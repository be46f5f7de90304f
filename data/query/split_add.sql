-- Splits a label, unless that split is in force.
-- Parameters: $1 effect, $2 label, $3 the first day of the new level, $4 now.
-- Columns: none.
insert into split (effect, label, since, made_at, undone_at)
select $1, $2, cast($3 as date), cast($4 as timestamp), null
where not exists (
    select 1 from split_open as s where s.effect = $1 and s.label = $2 and s.since = cast($3 as date)
);
