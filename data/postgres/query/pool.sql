-- Reads what the other workshops have in common.
-- Parameters: none.
-- Columns: quantity, parameter, number of workshops, mean, variance, mean of the squared standard
-- errors; ordered by the first two.
select quantity, parameter, workshops, mean, variance, squared_se
from pool()
order by quantity, parameter;
