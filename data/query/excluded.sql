-- Lists the observations of the quantity shown that no fit may use.
-- Parameters: none.
-- Columns: kind, id, date, measured/base, why, the maker's own reason where set aside by hand;
-- ordered by date, id, kind.
select o.kind, o.id, o.date, o.ratio,
    case o.reason
        when 1 then 'set aside by hand'
        when 2 then 'unit slip'
        when 3 then 'unit slip in weight or shot'
        when 4 then 'weight is not above shot used'
    end,
    b.set_aside
from observed as o
left join build as b on o.built and b.id = o.id and o.reason = 1
where not o.eligible
order by o.date, o.id, o.kind;
