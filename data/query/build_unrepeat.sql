-- Takes from the lines that repeat an id those whose id the file has among the builds that
-- were not staged: see build_repeat.
-- Parameters: none; the file is the newest source.
-- Columns: none.
delete from repeated
where id in (select b.id from build as b where b.source = (select max(number) from source));
