-- Digests what fits read of each row. chr(31) stands in no label, so that no two
-- rows run together into the same text.
-- Parameters: $1 the last date.
-- Columns: kind, date, digest; ordered by kind, date, id.
select kind, date, digest
from (
    select 'builds' as kind, id, date, digest
    from digest
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
            coalesce(figure(filled_length_mm), ''),
            coalesce(figure(shot_mass_g), ''),
            coalesce(figure(predicted_shot_g), ''),
            coalesce(figure(computed_shot_g), '')
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
            coalesce(figure(checked_mass_g), ''),
            coalesce(figure(predicted_mass_g), ''),
            coalesce(figure(computed_mass_g), '')
        )) as digest
    from cord_check
    where date <= $1
) as r
order by kind, date, id;
