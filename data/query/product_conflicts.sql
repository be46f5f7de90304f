-- Lists staged products that differ from what the log has: both rows, side by side.
-- Parameters: none.
-- Columns: the staged row with its line, then the row in the log with its source and line; ordered by line.
select
    s.product, s.description, s.weight_low_g, s.weight_high_g, s.length_low_mm, s.length_high_mm, s.line,
    b.product, b.description, b.weight_low_g, b.weight_high_g, b.length_low_mm, b.length_high_mm, b.source,
    b.line
from verdict as v
join staged_product as s on s.line = v.line
join product as b on b.product = s.product
where v.differs
order by s.line;
