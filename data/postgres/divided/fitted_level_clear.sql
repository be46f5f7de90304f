-- Forgets what fits say of levels, here and on the servers.
-- Parameters: none.
-- Columns: none.
delete from fit_level where fit = any (array(select k.fit from fit_key as k));
delete from fitted_level;
