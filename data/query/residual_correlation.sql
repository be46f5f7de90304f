-- Correlates the residuals of two quantities over the builds that both fits used.
-- Parameters: $1 and $2 the quantities.
-- Columns: Pearson's correlation (NULL or NaN: not defined), number of builds.
select corr(a.residual, b.residual), count(*)
from residual as a
join residual as b on b.id = a.id and b.kind = a.kind
where a.quantity = $1 and b.quantity = $2 and a.kind = 'builds'
    and a.kept and b.kept;
