-- Counts the residuals.
-- Parameters: none.
-- Columns: number, number of those the fit used.
select count(*), count(*) filter (where kept)
from residual;
