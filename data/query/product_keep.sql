-- Copies products that are about to be replaced into the history.
-- Parameters: $1 time of the import, $2 number of the source that replaces them.
-- Columns: those of product_history.
insert into product_history (
    product, description, weight_low_g, weight_high_g, length_low_mm, length_high_mm, source, line,
    replaced_at, replaced_by
)
select
    b.product, b.description, b.weight_low_g, b.weight_high_g, b.length_low_mm, b.length_high_mm, b.source,
    b.line, $1, $2
from product as b
where b.product in (
    select s.product
    from verdict as v
    join staged_product as s on s.line = v.line
    where v.differs
);
