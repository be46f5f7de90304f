-- Makes observed the temporary view of the observations of body.
-- Parameters: none.
-- Columns: n, built, kind, id, date, levels; y, NULL where body is not positive; eligible (fits may use
-- the row); ratio (measured/base); reason: why no fit may use the row, as in compared.
create or replace temporary view observed as
select
    c.n, c.built, case when c.built then 'builds' else 'checks' end as kind,
    c.id, c.date, c.maker, c.core_batch, c.strand_batch, c.shot_batch, c.product,
    c.body_y as y,
    c.body_y is not null and c.body_out is null as eligible,
    coalesce(exp(c.body_y), c.no_body_ratio) as ratio,
    c.body_out as reason
from compared as c
where c.body_y is not null or c.body_out is not null;
