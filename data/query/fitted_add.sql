-- Sets the fit of a quantity.
-- Parameters: $1 quantity, $2 mean, $3 to $7 theta2 of maker, core batch, strand batch,
-- shot batch, product.
-- Columns: those of fitted.
insert into fitted (
    quantity, mean, maker_theta2, core_batch_theta2, strand_batch_theta2, shot_batch_theta2,
    product_theta2
)
values ($1, $2, $3, $4, $5, $6, $7);
