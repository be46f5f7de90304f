-- Copies the test fills into a temporary table of the same name, which statements then see
-- instead: a check merges into that and the log stays as it is.
-- Parameters: none.
-- Columns: those of fill.
create temporary table fill as
select
    id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
    computed_shot_g, parts_version, source, line
from fill;
