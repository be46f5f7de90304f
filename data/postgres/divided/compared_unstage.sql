-- Drops the observations that were at work, and forgets them on the servers, with those that a
-- reader left behind who was cut off.
-- Parameters: none.
-- Columns: none.
delete from fit_level where fit = any (array(select k.fit from fit_key as k));
delete from fit_split where fit = any (array(select k.fit from fit_key as k));
delete from fit where fit = any (array(select k.fit from fit_key as k)) or made_at < current_timestamp - interval '7 days';
drop table fit_key;
drop table compared;
