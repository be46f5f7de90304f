-- Lists cord checks that have every word, the newest first. Those are left that no word is missing
-- from, which costs less than asking for every word; without words no text is put together.
-- Parameters: $1 the words with a space between ('': none), $2 how many at most, $3 how many to
-- pass over.
-- Columns: as cord_check_rows, then how many there are in all; ordered by date then id, both
-- descending.
select
    b.id, b.date, b.strand_batch, b.checked_length_mm, b.checked_mass_g,
    coalesce(b.predicted_mass_g, b.computed_mass_g), b.note, f.name, b.line,
    m.total
from (
    select r.id, count(*) over () as total
    from (
        select id, date, lower(concat_ws(chr(10), id, strand_batch, note)) as words
        from cord_check
    ) as r
    left join unnest(string_to_array(lower($1), ' ')) as w (word)
        on $1 <> '' and strpos(r.words, w.word) = 0
    where w.word is null
    order by r.date desc, r.id desc
    limit $2 offset $3
) as m
join cord_check as b on b.id = m.id
join source as f on f.number = b.source
order by b.date desc, b.id desc;
