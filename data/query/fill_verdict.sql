-- Compares the staged test fills that the log has too with what it has.
-- Parameters: $1 true: lines that repeat an id of the same file, false: the others.
-- Columns: line, other_source and other_line (where the log has its row from), differs
-- (in any column but these two; NULL equals NULL).
insert into verdict (line, other_source, other_line, differs)
select s.line, b.source, b.line,
    (
        s.date is distinct from b.date
        or s.maker is distinct from b.maker
        or s.core_batch is distinct from b.core_batch
        or s.shot_batch is distinct from b.shot_batch
        or s.filled_length_mm is distinct from b.filled_length_mm
        or s.shot_mass_g is distinct from b.shot_mass_g
        or s.predicted_shot_g is distinct from b.predicted_shot_g
        or s.note is distinct from b.note
    )
from staged_fill as s
join fill as b on b.id = s.id
where (s.line in (select r.line from repeated as r)) = $1;
