-- Lists the rows that stand out, and those that would if one of their labels were unknown.
-- Parameters: $1 quantity, $2 the least |t| that stands out, $3 the least
-- |y - mean - other effects| of a lone row; $4 to $8 whether maker, core batch, strand batch,
-- shot batch, product are effects of the quantity.
-- Columns: kind, id, date, maker, core batch, strand batch, shot batch, product, measured/base,
-- t, whether t stands out, whether the row would as the only one of its maker, core batch,
-- strand batch, shot batch, product; ordered by |t| falling, date, id, kind.
select kind, id, date, maker, core_batch, strand_batch, shot_batch, product, ratio, t,
    abs(t) > $2,
    $4 and maker is not null and abs(residual + maker_value) > $3,
    $5 and core_batch is not null and abs(residual + core_batch_value) > $3,
    $6 and strand_batch is not null and abs(residual + strand_batch_value) > $3,
    $7 and shot_batch is not null and abs(residual + shot_batch_value) > $3,
    $8 and product is not null and abs(residual + product_value) > $3
from residual
where quantity = $1
    and (
        abs(t) > $2
        or $4 and maker is not null and abs(residual + maker_value) > $3
        or $5 and core_batch is not null and abs(residual + core_batch_value) > $3
        or $6 and strand_batch is not null and abs(residual + strand_batch_value) > $3
        or $7 and shot_batch is not null and abs(residual + shot_batch_value) > $3
        or $8 and product is not null and abs(residual + product_value) > $3
    )
order by abs(t) desc, date, id, kind;
