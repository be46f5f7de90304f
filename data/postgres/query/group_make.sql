-- Makes the role that every workshop is a member of.
-- Parameters: none.
-- Columns: none.
create role trueplait_workshop nologin;
