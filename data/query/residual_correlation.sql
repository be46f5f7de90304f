-- Correlates the residuals of two quantities over the builds that both fits used. Products
-- are taken about the means, which sums of squares would lose.
-- Parameters: $1 and $2 the quantities.
-- Columns: Pearson's correlation (NULL: not defined), number of builds.
with pair as (
    select a.residual as x, b.residual as y
    from residual as a
    join residual as b on b.id = a.id and b.kind = a.kind
    where a.quantity = $1 and b.quantity = $2 and a.kind = 'builds'
        and a.kept and b.kept
),
middle as (
    select avg(x) as x, avg(y) as y
    from pair
)
select
    sum((p.x - m.x) * (p.y - m.y))
        / nullif(sqrt(sum((p.x - m.x) * (p.x - m.x)) * sum((p.y - m.y) * (p.y - m.y))), 0),
    count(*)
from pair as p
cross join middle as m;
