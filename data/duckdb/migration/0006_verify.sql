-- What it takes to verify a log: which program and which rows a calibration came from, and
-- one list of everything that was replaced.

-- program: the version of the program that saved the calibration. newest_source: the number
-- of the newest file at that moment, 0 where there was none; rows of later files came after
-- it. Both are NULL for calibrations of programs that did not note them.
alter table calibration add column program text;
alter table calibration add column newest_source integer;

-- Every row that amendments replaced, by kind as files name it; the id of a part is its
-- product.
create view replaced_row as
select 'parts' as kind, product as id, source, line, replaced_at, replaced_by from part_history
union all
select 'products' as kind, product as id, source, line, replaced_at, replaced_by from product_history
union all
select 'fills' as kind, id, source, line, replaced_at, replaced_by from fill_history
union all
select 'checks' as kind, id, source, line, replaced_at, replaced_by from cord_check_history
union all
select 'builds' as kind, id, source, line, replaced_at, replaced_by from build_history;

-- Every row there is or was, with the file that replaced it, NULL where none did.
create view row_version as
select 'parts' as kind, product as id, source, line, cast(null as integer) as replaced_by from part
union all
select kind, id, source, line, cast(null as integer) as replaced_by from log_row
union all
select kind, id, source, line, replaced_by from replaced_row;
