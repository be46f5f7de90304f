-- Makes parents of the tables of builds, which are divided by maker. No policies: rows are
-- another server's to show, and a policy here would be asked row by row instead of there.
-- Parameters: none.
-- Columns: none.
drop view build_base, build_ratio, fill_ratio, cord_check_ratio, observation, label, split_open, log_row, replaced_row, row_version;
alter table build rename to build_whole;
alter table build_history rename to build_history_whole;
create table build (like build_whole including defaults) partition by hash (maker);
create table build_history (like build_history_whole including defaults) partition by hash (maker);
drop table build_whole, build_history_whole;
