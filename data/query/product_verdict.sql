-- Compares the staged products that the log has too with what it has.
-- Parameters: $1 true: lines that repeat an id of the same file, false: the others.
-- Columns: line, other_source and other_line (where the log has its row from), differs
-- (in any column but these two; NULL equals NULL).
insert into verdict (line, other_source, other_line, differs)
select s.line, b.source, b.line,
    (
        s.description is distinct from b.description
        or s.weight_low_g is distinct from b.weight_low_g
        or s.weight_high_g is distinct from b.weight_high_g
        or s.length_low_mm is distinct from b.length_low_mm
        or s.length_high_mm is distinct from b.length_high_mm
    )
from staged_product as s
join product as b on b.product = s.product
where (s.line in (select r.line from repeated as r)) = $1;
