-- Counts the rows that state nothing to compare: no prediction for anything measured.
-- Parameters: $1 lowest number of the source, $2 the last date.
-- Columns: builds, test fills, cord checks.
select
    (
        select count(*)
        from build_base
        where source >= $1 and date <= $2
            and coalesce(
                case when weight_g > 0 and weight_base_g > 0 then 1 end,
                case when length_mm > 0 and length_base_mm > 0 then 1 end,
                case when shot_used_g > 0 and shot_base_g > 0 then 1 end,
                case when strand_used_mm > 0 and strand_base_mm > 0 then 1 end
            ) is null
    ),
    (select count(*) from fill_ratio where source >= $1 and date <= $2 and y is null),
    (select count(*) from cord_check_ratio where source >= $1 and date <= $2 and y is null);
