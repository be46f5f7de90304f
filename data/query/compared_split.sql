-- Gives the observations at work the levels that splits make.
-- Parameters: none.
-- Columns: none.
update compared
set
    maker = maker || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'maker' and s.label = compared.maker and s.since <= compared.date
    ), ''),
    core_batch = core_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'core_batch' and s.label = compared.core_batch and s.since <= compared.date
    ), ''),
    strand_batch = strand_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'strand_batch' and s.label = compared.strand_batch and s.since <= compared.date
    ), ''),
    shot_batch = shot_batch || coalesce((
        select ' from ' || cast(max(s.since) as text)
        from split_open as s
        where s.effect = 'shot_batch' and s.label = compared.shot_batch and s.since <= compared.date
    ), '');
