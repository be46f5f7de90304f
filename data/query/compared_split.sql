-- Gives the rows at work the levels that splits make.
-- Parameters: none.
-- Columns: none.
update compared
set
    maker = coalesce((
        select max(new.n)
        from split_open as s
        join level as old on old.effect = s.effect and old.label = s.label
        join level as new on new.effect = s.effect and new.label = s.label || ' from ' || cast(s.since as text)
        where s.effect = 'maker' and old.n = compared.maker and s.since <= compared.date
    ), maker),
    core_batch = coalesce((
        select max(new.n)
        from split_open as s
        join level as old on old.effect = s.effect and old.label = s.label
        join level as new on new.effect = s.effect and new.label = s.label || ' from ' || cast(s.since as text)
        where s.effect = 'core_batch' and old.n = compared.core_batch and s.since <= compared.date
    ), core_batch),
    strand_batch = coalesce((
        select max(new.n)
        from split_open as s
        join level as old on old.effect = s.effect and old.label = s.label
        join level as new on new.effect = s.effect and new.label = s.label || ' from ' || cast(s.since as text)
        where s.effect = 'strand_batch' and old.n = compared.strand_batch and s.since <= compared.date
    ), strand_batch),
    shot_batch = coalesce((
        select max(new.n)
        from split_open as s
        join level as old on old.effect = s.effect and old.label = s.label
        join level as new on new.effect = s.effect and new.label = s.label || ' from ' || cast(s.since as text)
        where s.effect = 'shot_batch' and old.n = compared.shot_batch and s.since <= compared.date
    ), shot_batch);
