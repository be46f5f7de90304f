-- Removes the test fills that are about to be replaced; they are in the history by now.
-- Parameters: none.
-- Columns: none.
delete from fill
where id in (
    select s.id
    from verdict as v
    join staged_fill as s on s.line = v.line
    where v.differs
);
