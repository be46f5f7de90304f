-- Counts the builds with figures that were worked out from a parts list.
-- Parameters: none.
-- Columns: the number.
select count(*)
from build
where parts_version is not null;
