-- Holds back the staged builds that are not to be added: those that repeat an id of the file,
-- and those the log has, unless they replace what it has.
-- Parameters: $1 whether builds that differ from the log's replace them.
-- Columns: none.
update staged_build
set held = true
where line in (select r.line from repeated as r)
    or line in (select v.line from verdict as v where not (v.differs and $1));
