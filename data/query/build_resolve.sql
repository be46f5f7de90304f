-- Fills in the factors that builds of the file contain but do not state: those of the
-- calibration they name, for their labels.
-- Parameters: none.
-- Columns: none.
update staged_build
set
    shot_factor = coalesce(shot_factor, (
        select f.factor
        from calibration_factor as f
        where f.number = staged_build.calibration and f.quantity = 'shot'
            and f.maker is not distinct from staged_build.maker
            and f.core_batch is not distinct from staged_build.core_batch
            and f.shot_batch is not distinct from staged_build.shot_batch
    )),
    body_factor = coalesce(body_factor, (
        select f.factor
        from calibration_factor as f
        where f.number = staged_build.calibration and f.quantity = 'body'
            and f.maker is not distinct from staged_build.maker
            and f.strand_batch is not distinct from staged_build.strand_batch
            and f.product is not distinct from staged_build.product
    )),
    length_factor = coalesce(length_factor, (
        select f.factor
        from calibration_factor as f
        where f.number = staged_build.calibration and f.quantity = 'length'
            and f.maker is not distinct from staged_build.maker
            and f.strand_batch is not distinct from staged_build.strand_batch
            and f.product is not distinct from staged_build.product
    ))
where calibration is not null;
