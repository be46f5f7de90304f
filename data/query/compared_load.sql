-- Adds the observations of some quantities to those at work.
-- Parameters: $1 the last date, $2 to $6 the quantities, one of them more than once where
-- they are fewer, $7 whether nothing with a ratio is excluded.
-- Columns: those of compared.
insert into compared (
    quantity, kind, id, date, started, maker, core_batch, strand_batch, shot_batch, product,
    measured, base, planned, shot_base, y, excluded, set_aside, kept
)
select quantity, kind, id, date, started, maker, core_batch, strand_batch, shot_batch, product,
    measured, base, planned, shot_base, y, case when $7 and y is not null then null else excluded end,
    set_aside, true
from observation
where date <= $1 and quantity in ($2, $3, $4, $5, $6);
