-- Makes observed the temporary view of the observations of shot.
-- Parameters: none.
-- Columns: n, built, kind, id, date, levels; y; eligible (fits may use
-- the row); ratio (measured/base); reason: why no fit may use the row, as in compared.
create or replace temporary view observed as
select
    c.n, c.built, case when c.built then 'builds' else 'fills' end as kind,
    c.id, c.date, c.maker, c.core_batch, c.strand_batch, c.shot_batch, c.product,
    c.shot_y as y,
    c.shot_out is null as eligible,
    exp(c.shot_y) as ratio,
    c.shot_out as reason
from compared as c
where c.shot_y is not null;
