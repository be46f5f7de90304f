-- Counts the rows that have a label.
-- Parameters: $1 the effect, $2 the label.
-- Columns: kind, how many rows; ordered by kind, no kind without any.
select u.kind, count(*)
from (
    select 'builds' as kind,
        case $1
            when 'maker' then maker
            when 'core_batch' then core_batch
            when 'strand_batch' then strand_batch
            when 'shot_batch' then shot_batch
            when 'product' then product
        end as label
    from build
    union all
    select 'fills' as kind,
        case $1
            when 'maker' then maker
            when 'core_batch' then core_batch
            when 'shot_batch' then shot_batch
        end as label
    from fill
    union all
    select 'checks' as kind, case when $1 = 'strand_batch' then strand_batch end as label
    from cord_check
) as u
where u.label = $2
group by u.kind
order by u.kind;
