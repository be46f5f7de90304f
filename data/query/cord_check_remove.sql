-- Removes the cord checks that are about to be replaced; they are in the history by now.
-- Parameters: none.
-- Columns: none.
delete from cord_check
where id in (
    select s.id
    from verdict as v
    join staged_cord_check as s on s.line = v.line
    where v.differs
);
