-- Fills in the blank predictions of an import's builds of one product.
-- Parameters: $1 number of the import's first source, $2 product, $3 version of its parts
-- list; base weight $4 (g), length $5 (mm), shot $6 (g), strand $7 (mm).
-- Columns: none.
update build
set
    computed_weight_g = case when predicted_weight_g is null then cast($4 as double precision) end,
    computed_length_mm = case when predicted_length_mm is null then cast($5 as double precision) end,
    computed_shot_g = case when predicted_shot_g is null then cast($6 as double precision) end,
    computed_strand_mm = case when predicted_strand_mm is null then cast($7 as double precision) end,
    parts_version = $3
where source >= $1 and product = $2
    and (
        predicted_weight_g is null
        or predicted_length_mm is null
        or predicted_shot_g is null
        or predicted_strand_mm is null
    );
