-- Lets workshops use the views of a part, whose schema is first in the search path.
-- Parameters: none.
-- Columns: none.
grant select on
    build_base, build_ratio, fill_ratio, cord_check_ratio, observation, label, split_open, log_row, replaced_row, row_version,
    digest
to trueplait_workshop;
