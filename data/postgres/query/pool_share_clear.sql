-- Takes back what the workshop shared.
-- Parameters: none.
-- Columns: none.
delete from pool_share where workshop = current_user;
