-- Waits until nobody reads or writes builds, and keeps others waiting until the transaction
-- ends.
-- Parameters: none.
-- Columns: none.
lock table trueplait.build, trueplait.build_history in access exclusive mode;
