-- Undoes a split that is in force.
-- Parameters: $1 effect, $2 label, $3 the first day of the level, $4 now.
-- Columns: none.
update split
set undone_at = cast($4 as timestamp)
where effect = $1 and label = $2 and since = cast($3 as date) and undone_at is null;
