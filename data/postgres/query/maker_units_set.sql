-- Notes the units that a maker reads.
-- Parameters: $1 maker, $2 units, $3 time.
-- Columns: those of maker_units.
insert into maker_units (maker, units, set_at)
values ($1, $2, $3)
on conflict (workshop, maker) do update set units = excluded.units, set_at = excluded.set_at;
