-- Counts the rows that state nothing to compare: no prediction for anything measured.
-- Parameters: $1 lowest number of the source, $2 the last date.
-- Columns: builds, test fills, cord checks.
select
    (
        select count(*)
        from build_ratio
        where source >= $1 and date <= $2 and coalesce(weight_y, length_y, shot_y, strand_y) is null
    ),
    (select count(*) from fill_ratio where source >= $1 and date <= $2 and y is null),
    (select count(*) from cord_check_ratio where source >= $1 and date <= $2 and y is null);
