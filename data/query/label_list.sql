-- Lists the labels of an effect that any row or parts list has.
-- Parameters: $1 the effect.
-- Columns: label; ordered.
select distinct label
from label
where effect = $1
order by label;
