-- Removes the products that are about to be replaced; they are in the history by now.
-- Parameters: none.
-- Columns: none.
delete from product
where product in (
    select s.product
    from verdict as v
    join staged_product as s on s.line = v.line
    where v.differs
);
