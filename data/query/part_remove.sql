-- Removes the parts lists that are about to be replaced; they are in the history by now.
-- Parameters: none.
-- Columns: none.
delete from part
where product in (
    select s.product
    from verdict as v
    join staged_part as s on s.line = v.line
    where v.differs
);
