-- Carries the figure that was worked out over to the test fills that replace those it was
-- worked out for, where it is still blank and the length is the same.
-- Parameters: none.
-- Columns: none.
update staged_fill
set computed_shot_g = b.computed_shot_g, parts_version = b.parts_version
from fill as b
where b.id = staged_fill.id and b.filled_length_mm = staged_fill.filled_length_mm
    and staged_fill.predicted_shot_g is null and b.computed_shot_g is not null;
