-- Carries the figure that was worked out over to the cord checks that replace those it was
-- worked out for, where it is still blank and the length is the same.
-- Parameters: none.
-- Columns: none.
update staged_cord_check
set computed_mass_g = b.computed_mass_g, parts_version = b.parts_version
from cord_check as b
where b.id = staged_cord_check.id and b.checked_length_mm = staged_cord_check.checked_length_mm
    and staged_cord_check.predicted_mass_g is null and b.computed_mass_g is not null;
