-- Keeps workshops from what is the keeper's.
-- Parameters: none.
-- Columns: none.
revoke insert, update, delete on schema_migration from trueplait_workshop;
