-- Batches and makers that changed under the same label: rows of the label dated from a day
-- on count as a level of their own, "LABEL from DAY", until the split is undone.

-- effect: maker, core_batch, strand_batch or shot_batch. Rows are never deleted.
create table split (
    effect text not null,
    label text not null,
    since date not null,
    made_at timestamp not null,
    undone_at timestamp
);

-- The splits in force.
create view split_open as
select effect, label, since
from split
where undone_at is null;
