-- Lists builds that have every word, the newest first. Those are left that no word is missing
-- from, which costs less than asking for every word; without words no text is put together.
-- Parameters: $1 the words with a space between ('': none), $2 how many at most, $3 how many to
-- pass over.
-- Columns: as build_rows, then how many there are in all; ordered by date then id, both
-- descending.
select
    b.id, b.date, b.maker, b.product, b.core_batch, b.strand_batch, b.shot_batch,
    coalesce(b.predicted_weight_g, p.weight_planned_g),
    coalesce(b.predicted_length_mm, p.length_planned_mm), coalesce(b.predicted_shot_g, p.shot_planned_g),
    coalesce(b.predicted_strand_mm, p.strand_base_mm), b.calibration, b.shot_factor, b.body_factor,
    b.length_factor, b.weight_g, b.length_mm, b.shot_used_g, b.strand_cut_mm, b.strand_left_mm,
    b.load_length_mm, b.started, b.humidity_percent, b.set_aside, b.note, f.name, b.line,
    m.total
from (
    select r.id, count(*) over () as total
    from (
        select id, date,
            lower(concat_ws(chr(10), id, maker, product, core_batch, strand_batch, shot_batch, note, set_aside)) as words
        from build
    ) as r
    left join unnest(string_to_array(lower($1), ' ')) as w (word)
        on $1 <> '' and strpos(r.words, w.word) = 0
    where w.word is null
    order by r.date desc, r.id desc
    limit $2 offset $3
) as m
join build as b on b.id = m.id
join build_base as p on p.id = b.id
join source as f on f.number = b.source
order by b.date desc, b.id desc;
