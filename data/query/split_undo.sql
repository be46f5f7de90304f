-- Undoes a split that is in force. A clock that was set back does not undo it before it was made.
-- Parameters: $1 effect, $2 label, $3 the first day of the level, $4 now.
-- Columns: none.
update split
set undone_at = greatest(cast($4 as timestamp), made_at)
where effect = $1 and label = $2 and since = cast($3 as date) and undone_at is null;
