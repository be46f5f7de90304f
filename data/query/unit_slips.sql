-- Lists measured figures of an import that look like another unit. Builds are read once, not
-- once a column: planning the view takes longer than reading it.
-- Parameters: $1 number of the import's first source.
-- Columns: kind, id, name of the file, line, column, ratio measured/base; ordered by source,
-- line, column.
select m.kind, m.id, f.name, m.line, m.measured, exp(m.y)
from (
    select 'builds' as kind, b.id, b.source, b.line, c.measured,
        case c.measured
            when 'weight' then b.weight_y
            when 'length' then b.length_y
            when 'shot_used' then b.shot_y
            else b.strand_y
        end as y,
        case c.measured
            when 'weight' then b.weight_slip
            when 'length' then b.length_slip
            when 'shot_used' then b.shot_slip
            else b.strand_slip
        end as slip
    from build_ratio as b
    cross join (
        select 'weight' as measured
        union all
        select 'length' as measured
        union all
        select 'shot_used' as measured
        union all
        select 'strand_cut' as measured
    ) as c
    where b.source >= $1 and (b.weight_slip or b.length_slip or b.shot_slip or b.strand_slip)
    union all
    select 'fills' as kind, id, source, line, 'shot_mass' as measured, y, slip
    from fill_ratio
    where source >= $1
    union all
    select 'checks' as kind, id, source, line, 'checked_mass' as measured, y, slip
    from cord_check_ratio
    where source >= $1
) as m
join source as f on f.number = m.source
where m.slip
order by m.source, m.line, m.measured;
