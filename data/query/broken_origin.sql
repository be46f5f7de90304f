-- Lists rows, replaced ones too, that came from no file of their kind that is kept, or from
-- no line of it, and those that such a file is said to have replaced.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select r.kind, r.id,
    case
        when s.number is null then 'came from file ' || cast(r.source as text) || ', which is not kept'
        when r.line < 1 then 'came from line ' || cast(r.line as text) || ' of ' || s.name
        else 'was replaced by file ' || cast(r.replaced_by as text) || ', which is not kept'
    end as detail
from row_version as r
left join source as s on s.number = r.source and s.kind = r.kind
left join source as b on b.number = r.replaced_by and b.kind = r.kind
where s.number is null or r.line < 1 or r.replaced_by is not null and b.number is null
order by r.kind, r.id, detail;
