-- Notes that a migration was applied.
-- Parameters: $1 version, $2 name.
-- Columns: those of schema_migration.
insert into schema_migration (version, name)
values ($1, $2);
