-- The test fills as the log holds them, for Parquet.
-- Parameters: none.
-- Columns: those of fill; ordered by date then id.
select
    id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
    computed_shot_g, parts_version, source, line
from fill
order by date, id;
