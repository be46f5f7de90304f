-- Fills in the blank predictions of an import's builds of one product. What was carried over
-- stays, and a build with figures from another version of the list is left as it is.
-- Parameters: $1 number of the import's first source, $2 product, $3 version of its parts
-- list; base weight $4 (g), length $5 (mm), shot $6 (g), strand $7 (mm).
-- Columns: none.
update build
set
    computed_weight_g = case
        when predicted_weight_g is null then coalesce(computed_weight_g, cast($4 as double precision))
    end,
    computed_length_mm = case
        when predicted_length_mm is null then coalesce(computed_length_mm, cast($5 as double precision))
    end,
    computed_shot_g = case
        when predicted_shot_g is null then coalesce(computed_shot_g, cast($6 as double precision))
    end,
    computed_strand_mm = case
        when predicted_strand_mm is null then coalesce(computed_strand_mm, cast($7 as double precision))
    end,
    parts_version = $3
where source >= $1 and product = $2 and coalesce(parts_version, $3) = $3
    and (
        coalesce(predicted_weight_g, computed_weight_g) is null
        or coalesce(predicted_length_mm, computed_length_mm) is null
        or coalesce(predicted_shot_g, computed_shot_g) is null
        or coalesce(predicted_strand_mm, computed_strand_mm) is null
    );
