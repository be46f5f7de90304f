-- Makes observed the temporary view of the observations of length.
-- Parameters: none.
-- Columns: n, built, kind, id, date, levels; y; eligible (fits may use
-- the row); ratio (measured/base); reason: why no fit may use the row, as in compared.
create or replace temporary view observed as
select
    c.n, c.built, 'builds' as kind,
    c.id, c.date, c.maker, c.core_batch, c.strand_batch, c.shot_batch, c.product,
    c.length_y as y,
    c.length_out is null as eligible,
    exp(c.length_y) as ratio,
    c.length_out as reason
from compared as c
where c.length_y is not null;
