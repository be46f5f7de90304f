-- Blanks the planned shot of a staged test fill where it is what was worked out for the
-- log's fill of the same id: an export states it, and it is no statement.
-- Parameters: none.
-- Columns: none.
update staged_fill
set predicted_shot_g = null
from fill as b
where b.id = staged_fill.id and b.predicted_shot_g is null
    and staged_fill.predicted_shot_g = b.computed_shot_g;
