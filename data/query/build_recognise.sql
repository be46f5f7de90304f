-- Blanks what a staged build says of its plan where that is what was worked out for the
-- log's build of the same id: an export states such figures, and they are no statement.
-- Parameters: none.
-- Columns: none.
update staged_build
set
    predicted_weight_g = case
        when b.predicted_weight_g is null and staged_build.predicted_weight_g = p.weight_planned_g then null
        else staged_build.predicted_weight_g
    end,
    predicted_length_mm = case
        when b.predicted_length_mm is null and staged_build.predicted_length_mm = p.length_planned_mm then null
        else staged_build.predicted_length_mm
    end,
    predicted_shot_g = case
        when b.predicted_shot_g is null and staged_build.predicted_shot_g = p.shot_planned_g then null
        else staged_build.predicted_shot_g
    end,
    predicted_strand_mm = case
        when b.predicted_strand_mm is null and staged_build.predicted_strand_mm = p.strand_base_mm then null
        else staged_build.predicted_strand_mm
    end
from build as b
join build_base as p on p.id = b.id
where b.id = staged_build.id and b.parts_version is not null;
