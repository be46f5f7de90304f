-- Lists dates that no calendar has.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select d.kind, d.id, 'has the ' || d.name || ' ' || cast(d.date as text) as detail
from (
    select 'builds' as kind, id, 'date' as name, date from build
    union all
    select 'builds' as kind, id, 'date' as name, date from build_history
    union all
    select 'builds' as kind, id, 'start' as name, started as date from build
    union all
    select 'builds' as kind, id, 'start' as name, started as date from build_history
    union all
    select 'fills' as kind, id, 'date' as name, date from fill
    union all
    select 'fills' as kind, id, 'date' as name, date from fill_history
    union all
    select 'checks' as kind, id, 'date' as name, date from cord_check
    union all
    select 'checks' as kind, id, 'date' as name, date from cord_check_history
    union all
    select 'plan' as kind, id, 'start' as name, started as date from open_build
    union all
    select 'split' as kind, label as id, 'day' as name, since as date from split
    union all
    select 'file' as kind, cast(number as text) as id, 'day' as name, cast(imported_at as date) as date from source
    union all
    select 'calibration' as kind, cast(number as text) as id, 'day' as name, cast(made_at as date) as date from calibration
    union all
    select 'calibration' as kind, cast(number as text) as id, 'last day' as name, through as date from calibration
) as d
where d.date not between cast('0001-01-01' as date) and cast('9999-12-31' as date)
order by d.kind, d.id, detail;
