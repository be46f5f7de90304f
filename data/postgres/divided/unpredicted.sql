-- Counts, the servers those of builds, the rows that state nothing to compare: no prediction for anything measured.
-- Parameters: $1 lowest number of the source, $2 the last date.
-- Columns: builds, test fills, cord checks.
select
    (
        select cast(coalesce(sum(t.rows), 0) as bigint)
        from (
            select maker, count(*) as rows
            from tally_build
            where source >= $1 and date <= $2 and unpredicted
            group by maker
        ) as t
    ),
    (select count(*) from fill_ratio where source >= $1 and date <= $2 and y is null),
    (select count(*) from cord_check_ratio where source >= $1 and date <= $2 and y is null);
