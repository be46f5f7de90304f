-- Words the statement that counts and sums up a part.
-- Parameters: $1 schema of the part.
-- Columns: the statement, which gives the number of builds and of replaced builds, and for each
-- a sum that every figure of every row is in.
select format(
    $text$
select
    (select count(*) from %1$I.build),
    (select count(*) from %1$I.build_history),
    (select cast(coalesce(sum(cast(hashtextextended(cast(b as text), 0) as numeric)), 0) as text) from %1$I.build as b),
    (select cast(coalesce(sum(cast(hashtextextended(cast(b as text), 0) as numeric)), 0) as text) from %1$I.build_history as b)
$text$,
    cast($1 as text)
);
