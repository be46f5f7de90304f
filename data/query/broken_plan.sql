-- Lists open plans of builds that are there, and finished ones whose build did not come from
-- the file that finished them.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select 'plan' as kind, p.id, 'is open, and the build is there' as detail
from open_build as p
where p.finished_at is null and p.finished_by is null and exists (select 1 from build as b where b.id = p.id)
union all
select 'plan' as kind, p.id, 'is finished, and the build of that file is not there' as detail
from open_build as p
where (p.finished_at is not null or p.finished_by is not null) and (
        p.finished_at is null or p.finished_by is null or not exists (
            select 1
            from row_version as v
            where v.kind = 'builds' and v.id = p.id and v.source = p.finished_by
        )
    )
order by kind, id;
