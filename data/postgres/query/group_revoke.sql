-- Keeps workshops from writing down migrations.
-- Parameters: none.
-- Columns: none.
revoke insert, update, delete on schema_migration from trueplait_workshop;
