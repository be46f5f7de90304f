-- Saves a plan.
-- Parameters: $1 time, then from $2 on the columns in their order.
-- Columns: those of open_build that a plan states.
insert into open_build (
    saved_at, id, started, product, maker, core_batch, strand_batch, shot_batch, predicted_weight_g,
    predicted_length_mm, predicted_shot_g, predicted_strand_mm, calibration, shot_factor, body_factor,
    length_factor, load_length_mm, target_weight_g
)
values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18);
