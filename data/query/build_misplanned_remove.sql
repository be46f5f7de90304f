-- Takes the builds that contradict their open plan out of what is merged: see
-- build_misplanned.
-- Parameters: none.
-- Columns: none.
delete from staged_build
where line in (
    select s.line
    from staged_build as s
    join open_build as p on p.id = s.id
    where p.finished_at is null and (p.product <> s.product or p.maker <> s.maker)
);
