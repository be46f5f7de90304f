-- Lists the products there are and those that amendments replaced.
-- Parameters: none.
-- Columns: as it was stated; the name of the file, blank where it is not kept, the line,
-- number of the file, number of the file that replaced the row, NULL where none did; five
-- columns that products leave NULL. Ordered by number of the file, line.
select
    v.product, v.description, v.weight_low_g, v.weight_high_g, v.length_low_mm, v.length_high_mm,
    coalesce(f.name, ''), v.line, v.source, v.replaced_by,
    cast(null as double precision), cast(null as double precision),
    cast(null as double precision), cast(null as double precision), cast(null as integer)
from (
    select
        product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, source, line, cast(null as
        integer) as replaced_by
    from product
    union all
    select
        product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, source, line, replaced_by
    from product_history
) as v
left join source as f on f.number = v.source
order by v.source, v.line;
