-- Counts the rows at work; the servers count builds.
-- Parameters: none.
-- Columns: number.
select (select count(*) from compared) + (
    select cast(coalesce(sum(b.rows), 0) as bigint)
    from (
        select maker, count(*) as rows
        from compared_build
        where fit = (select k.fit from fit_key as k)
        group by maker
    ) as b
);
