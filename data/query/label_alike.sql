-- Lists labels of one file beside labels of the log that differ only in case or spaces.
-- Parameters: $1 number of the source.
-- Columns: effect, the file's label, the other; ordered. Of two that are both in the file,
-- once.
with seen as (
    select effect, label, bool_or(source = $1) as here,
        lower(regexp_replace(label, '\s+', '', 'g')) as folded
    from label
    group by effect, label
)
select a.effect, a.label, b.label
from seen as a
join seen as b on b.effect = a.effect and b.folded = a.folded and b.label <> a.label
where a.here and not (b.here and b.label < a.label)
order by a.effect, a.label, b.label;
