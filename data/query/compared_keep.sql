-- Brings kept up to date with the rows in aside: turns it where it is wrong.
-- Parameters: none.
-- Columns: none.
update compared
set kept = not kept
where kept = exists (
    select 1
    from aside as a
    where a.quantity = compared.quantity and a.kind = compared.kind and a.id = compared.id
);
