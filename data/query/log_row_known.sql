-- Says whether an id of a kind is taken, for a build by an open plan too.
-- Parameters: $1 the kind, $2 the id.
-- Columns: whether it is.
select
    exists (select 1 from log_row as r where r.kind = $1 and r.id = $2)
    or exists (select 1 from open_build as p where $1 = 'builds' and p.id = $2 and p.finished_at is null);
