-- Works out the base figure of cord checks that state none from the mass per length of the
-- strand cord that all parts lists share; the version noted is the highest among the lists.
-- Parameters: $1 mass per length (g/mm).
-- Columns: none.
update cord_check
set
    computed_mass_g = checked_length_mm * cast($1 as double precision),
    parts_version = (select coalesce(max(p.version), 0) from part as p)
where predicted_mass_g is null and computed_mass_g is null;
