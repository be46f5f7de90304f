-- Lists measured figures of an import that look like another unit.
-- Parameters: $1 number of the import's first source.
-- Columns: kind, id, name of the file, line, column, ratio measured/base; ordered by source,
-- line, column.
select m.kind, m.id, f.name, m.line, m.measured, exp(m.y)
from (
    select 'builds' as kind, id, source, line, 'weight' as measured, weight_y as y
    from build_ratio
    where weight_slip and source >= $1
    union all
    select 'builds' as kind, id, source, line, 'length' as measured, length_y as y
    from build_ratio
    where length_slip and source >= $1
    union all
    select 'builds' as kind, id, source, line, 'shot_used' as measured, shot_y as y
    from build_ratio
    where shot_slip and source >= $1
    union all
    select 'builds' as kind, id, source, line, 'strand_cut' as measured, strand_y as y
    from build_ratio
    where strand_slip and source >= $1
    union all
    select 'fills' as kind, id, source, line, 'shot_mass' as measured, y as y
    from fill_ratio
    where slip and source >= $1
    union all
    select 'checks' as kind, id, source, line, 'checked_mass' as measured, y as y
    from cord_check_ratio
    where slip and source >= $1
) as m
join source as f on f.number = m.source
order by m.source, m.line, m.measured;
