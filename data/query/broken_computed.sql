-- Lists rows with a figure that was worked out although one was stated, or from a parts list
-- that its product never had.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select r.kind, r.id, 'has a planned ' || r.figure || ' that is stated and worked out as well' as detail
from (
    select 'builds' as kind, id, 'weight' as figure, predicted_weight_g as stated, computed_weight_g as computed from build
    union all
    select 'builds' as kind, id, 'length' as figure, predicted_length_mm as stated, computed_length_mm as computed from build
    union all
    select 'builds' as kind, id, 'shot' as figure, predicted_shot_g as stated, computed_shot_g as computed from build
    union all
    select 'builds' as kind, id, 'strand' as figure, predicted_strand_mm as stated, computed_strand_mm as computed from build
    union all
    select 'fills' as kind, id, 'shot' as figure, predicted_shot_g as stated, computed_shot_g as computed from fill
    union all
    select 'checks' as kind, id, 'mass' as figure, predicted_mass_g as stated, computed_mass_g as computed from cord_check
) as r
where r.stated is not null and r.computed is not null
union all
select 'builds' as kind, b.id,
    'was worked out from version ' || coalesce(cast(b.parts_version as text), 'none')
        || ' of a parts list, which its product never had' as detail
from build as b
where coalesce(b.computed_weight_g, b.computed_length_mm, b.computed_shot_g, b.computed_strand_mm) is not null
    and not exists (
        select 1 from part as p where p.product = b.product and p.version = b.parts_version
        union all
        select 1 from part_history as p where p.product = b.product and p.version = b.parts_version
    )
order by kind, id, detail;
