-- Lists the builds of the file that name a calibration, state no factor, and whose
-- predicted figures need one that the calibration does not have for their labels.
-- Parameters: none.
-- Columns: line, id, calibration, whether the log has it, whether the factor of shot, of
-- body, of length is missing; ordered by line.
select line, id, calibration, known, no_shot, no_body, no_length
from (
    select s.line, s.id, s.calibration, c.number is not null as known,
        coalesce(s.predicted_shot_g, s.predicted_weight_g) is not null
            and s.shot_factor is null as no_shot,
        s.predicted_weight_g is not null and s.body_factor is null as no_body,
        s.predicted_length_mm is not null and s.length_factor is null as no_length
    from staged_build as s
    left join calibration as c on c.number = s.calibration
    where s.calibration is not null and s.line not in (select g.line from factor_given as g)
) as u
where no_shot or no_body or no_length
order by line;
