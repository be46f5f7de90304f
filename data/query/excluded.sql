-- Lists the observations of a quantity that no fit may use.
-- Parameters: $1 quantity.
-- Columns: kind, id, date, measured/base, reason, the maker's own words; ordered by date, id, kind.
select kind, id, date, measured / base, excluded, case when excluded = 'set aside by hand' then set_aside end
from compared
where quantity = $1 and excluded is not null
order by date, id, kind;
