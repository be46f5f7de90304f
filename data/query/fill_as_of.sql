-- The test fills as the log held them when a file was the newest.
-- A figure that is worked out came when there was something to work it out from: a build
-- with a load that was not yet replaced when the fill came with its length, or parts lists.
-- Parameters: $1 number of that source.
-- Columns: those of fill; ordered by date, then id.
select
    v.id, v.date, v.maker, v.core_batch, v.shot_batch, v.filled_length_mm, v.shot_mass_g, v.predicted_shot_g,
    v.note,
    case
        when v.parts_version is null and v.since < k.loads_until then v.computed_shot_g
        when v.parts_version is not null and k.parts then v.computed_shot_g
    end as computed_shot_g,
    case when k.parts then v.parts_version end as parts_version,
    v.source, v.line
from (
    select
        id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
        computed_shot_g, parts_version, source, line, replaced_by,
        min(source) over (partition by id, filled_length_mm, predicted_shot_g is null) as since
    from (
        select
            id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
            computed_shot_g, parts_version, source, line, cast(null as integer) as replaced_by
        from fill
        union all
        select
            id, date, maker, core_batch, shot_batch, filled_length_mm, shot_mass_g, predicted_shot_g, note,
            computed_shot_g, parts_version, source, line, replaced_by
        from fill_history
    ) as f
) as v
cross join (
    select
        exists (select 1 from row_version as r where r.kind = 'parts' and r.source <= $1) as parts,
        (
            select max(coalesce(b.replaced_by, $1 + 1))
            from (
                select source, predicted_shot_g, load_length_mm, cast(null as integer) as replaced_by from build
                union all
                select source, predicted_shot_g, load_length_mm, replaced_by from build_history
            ) as b
            where b.predicted_shot_g is not null and b.load_length_mm > 0 and b.source <= $1
        ) as loads_until
) as k
where v.source <= $1 and (v.replaced_by is null or v.replaced_by > $1)
order by v.date, v.id;
