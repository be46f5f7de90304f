-- Takes the builds whose factors are not known out of what is merged: see build_unresolved.
-- Parameters: none.
-- Columns: none.
delete from staged_build
where calibration is not null
    and line not in (select g.line from factor_given as g)
    and (
        coalesce(predicted_shot_g, predicted_weight_g) is not null and shot_factor is null
        or predicted_weight_g is not null and body_factor is null
        or predicted_length_mm is not null and length_factor is null
    );
