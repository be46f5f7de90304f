-- Notes the lines whose id an earlier line of the same file has too.
-- Parameters: none.
-- Columns: line, id, first_line (where the id stands first).
create temporary table repeated as
select s.line, s.product as id, d.first_line
from staged_product as s
join (
    select product, min(line) as first_line
    from staged_product
    group by product
    having count(*) > 1
) as d on d.product = s.product
where s.line > d.first_line;
