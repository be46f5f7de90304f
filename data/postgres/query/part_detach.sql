-- Words the statements that take another server's part out of the log.
-- Parameters: $1 schema of the part.
-- Columns: the statements.
select format(
    'drop foreign table %1$I.build, %1$I.build_history, %1$I.observed_build, %1$I.compared_build, %1$I.residual_build, '
    '%1$I.residual_pair_build, %1$I.digest_build',
    cast($1 as text)
);
