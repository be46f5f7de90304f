-- Counts the eligible rows and says how far they scatter about the fit, by the median
-- deviation from the median of the rows that the fit used.
-- Parameters: $1 quantity, $2 the least scale (log units).
-- Columns: number, scale.
with r as materialized (
    select t, kept
    from residual
    where quantity = $1
),
middle as (
    select percentile_cont(0.5) within group (order by t) as t
    from r
    where kept
)
select
    (select count(*) from r),
    greatest(
        $2,
        coalesce(
            (
                select 1.4826 * percentile_cont(0.5) within group (order by abs(r.t - middle.t))
                from r
                cross join middle
                where r.kept
            ),
            $2
        )
    );
