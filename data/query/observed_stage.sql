-- The temporary view of the observations of one quantity, which is the one in at_work.
-- Parameters: none.
-- Columns: n, built, kind, id, date, levels; y, NULL where body is not positive; eligible
-- (fits may use the row); ratio (measured/base); excluded: why no fit may use the row, NULL where it may.
create temporary view observed as
select
    o.n, o.built,
    case when o.built then 'builds' when o.quantity = 'shot' then 'fills' else 'checks' end as kind,
    o.id, o.date, o.maker, o.core_batch, o.strand_batch, o.shot_batch, o.product, o.y,
    o.y is not null and o.reason is null as eligible,
    coalesce(exp(o.y), o.no_body_ratio) as ratio,
    case o.reason
        when 1 then 'set aside by hand'
        when 2 then 'unit slip'
        when 3 then 'unit slip in weight or shot'
        when 4 then 'weight is not above shot used'
    end as excluded
from (
    select
        c.n, c.built, c.id, c.date, c.maker, c.core_batch, c.strand_batch, c.shot_batch, c.product,
        w.quantity, c.no_body_ratio,
        case w.quantity
            when 'shot' then c.shot_y
            when 'body' then c.body_y
            when 'weight' then c.weight_y
            when 'length' then c.length_y
            when 'strand' then c.strand_y
        end as y,
        case w.quantity
            when 'shot' then c.shot_out
            when 'body' then c.body_out
            when 'weight' then c.weight_out
            when 'length' then c.length_out
            when 'strand' then c.strand_out
        end as reason
    from compared as c
    cross join at_work as w
) as o
where o.y is not null or o.reason is not null;
