-- Lists splits that were undone before they were made, are in force twice, or split what has
-- no batch.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'split' as kind, s.label as id, 'was undone before it was made' as detail
from split as s
where s.undone_at < s.made_at
union all
select 'split' as kind, s.label as id, 'splits a ' || s.effect as detail
from split as s
where s.effect not in ('maker', 'core_batch', 'strand_batch', 'shot_batch') or s.label = ''
union all
select 'split' as kind, s.label as id, 'is in force twice from ' || cast(s.since as text) as detail
from split_open as s
group by s.effect, s.label, s.since
having count(*) > 1
order by kind, id, detail;
