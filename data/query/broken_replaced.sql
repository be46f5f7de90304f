-- Lists rows that an amendment replaced by nothing: the file it names brought no row of that
-- id, or came before the row.
-- Parameters: none.
-- Columns: kind, id, what is wrong; ordered by those.
select r.kind, r.id, 'was replaced by file ' || cast(r.replaced_by as text) || ', which has no such row' as detail
from replaced_row as r
where r.replaced_by <= r.source or not exists (
    select 1
    from row_version as v
    where v.kind = r.kind and v.id = r.id and v.source = r.replaced_by
)
order by r.kind, r.id, r.replaced_by;
