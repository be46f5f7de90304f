-- Keeps workshops from the list of them.
-- Parameters: none.
-- Columns: none.
revoke all on workshop from trueplait_workshop;
