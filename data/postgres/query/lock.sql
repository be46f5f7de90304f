-- Waits until nobody else writes to the workshop's log, and keeps others out until the
-- transaction ends.
-- Parameters: none.
-- Columns: nothing of use.
select pg_advisory_xact_lock(hashtextextended('trueplait ' || current_user, 0));
