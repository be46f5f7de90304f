-- Works out the base figure of test fills that still state none from the load per length of
-- the core that all parts lists share; the version noted is the highest among the lists.
-- Parameters: $1 load (g/mm).
-- Columns: none.
update fill
set
    computed_shot_g = filled_length_mm * cast($1 as double precision),
    parts_version = (select coalesce(max(p.version), 0) from part as p)
where predicted_shot_g is null and computed_shot_g is null;
