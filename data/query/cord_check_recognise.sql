-- Blanks the planned mass of a staged cord check where it is what was worked out for the
-- log's check of the same id: an export states it, and it is no statement.
-- Parameters: none.
-- Columns: none.
update staged_cord_check
set predicted_mass_g = null
from cord_check as b
where b.id = staged_cord_check.id and b.predicted_mass_g is null
    and staged_cord_check.predicted_mass_g = b.computed_mass_g;
