-- The workshops of this log: the server may have roles of others, and logs in other databases.
-- Only who keeps the log reads it.
create table workshop (
    name text collate "C" not null,
    added_at timestamp not null default current_timestamp,
    primary key (name)
);
