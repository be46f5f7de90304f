-- Takes back what was noted of files that did not come in, unless a later one did: numbers have
-- no holes.
-- Parameters: $1 the first number.
-- Columns: none.
delete from source
where number >= $1 and sha256 = ''
    and not exists (select 1 from source as s where s.number >= $1 and s.sha256 <> '');
