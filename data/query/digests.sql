-- Digests what fits read of each row. chr(31) stands in no label, so that no two
-- rows run together into the same text.
-- Parameters: $1 the last date.
-- Columns: kind, date, digest; ordered by kind, date, id.
select kind, date, digest
from (
    select 'builds' as kind, id, date,
        md5(concat_ws(
            chr(31),
            id,
            coalesce(cast(date as text), ''),
            coalesce(cast(started as text), ''),
            coalesce(maker, ''),
            coalesce(core_batch, ''),
            coalesce(strand_batch, ''),
            coalesce(shot_batch, ''),
            coalesce(product, ''),
            coalesce(set_aside, ''),
            coalesce(cast(weight_g as text), ''),
            coalesce(cast(length_mm as text), ''),
            coalesce(cast(shot_used_g as text), ''),
            coalesce(cast(strand_cut_mm as text), ''),
            coalesce(cast(strand_left_mm as text), ''),
            coalesce(cast(load_length_mm as text), ''),
            coalesce(cast(predicted_weight_g as text), ''),
            coalesce(cast(predicted_length_mm as text), ''),
            coalesce(cast(predicted_shot_g as text), ''),
            coalesce(cast(predicted_strand_mm as text), ''),
            coalesce(cast(computed_weight_g as text), ''),
            coalesce(cast(computed_length_mm as text), ''),
            coalesce(cast(computed_shot_g as text), ''),
            coalesce(cast(computed_strand_mm as text), ''),
            coalesce(cast(shot_factor as text), ''),
            coalesce(cast(body_factor as text), ''),
            coalesce(cast(length_factor as text), '')
        )) as digest
    from build
    where date <= $1
    union all
    select 'fills' as kind, id, date,
        md5(concat_ws(
            chr(31),
            id,
            coalesce(cast(date as text), ''),
            coalesce(maker, ''),
            coalesce(core_batch, ''),
            coalesce(shot_batch, ''),
            coalesce(cast(filled_length_mm as text), ''),
            coalesce(cast(shot_mass_g as text), ''),
            coalesce(cast(predicted_shot_g as text), ''),
            coalesce(cast(computed_shot_g as text), '')
        )) as digest
    from fill
    where date <= $1
    union all
    select 'checks' as kind, id, date,
        md5(concat_ws(
            chr(31),
            id,
            coalesce(cast(date as text), ''),
            coalesce(strand_batch, ''),
            coalesce(cast(checked_mass_g as text), ''),
            coalesce(cast(predicted_mass_g as text), ''),
            coalesce(cast(computed_mass_g as text), '')
        )) as digest
    from cord_check
    where date <= $1
) as r
order by kind, date, id;
