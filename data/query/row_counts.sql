-- Counts the rows of every table, and reads every cell but the bytes of pieces, which are
-- large: damage shows when it is read.
-- Parameters: none.
-- Columns: name of the table, rows, length of the longest row as text; ordered by name.
select 'build' as name, count(*) as rows, max(length(cast(r as text))) as longest from build as r
union all
select 'build_history' as name, count(*) as rows, max(length(cast(r as text))) as longest from build_history as r
union all
select 'calibration' as name, count(*) as rows, max(length(cast(r as text))) as longest from calibration as r
union all
select 'calibration_factor' as name, count(*) as rows, max(length(cast(r as text))) as longest from calibration_factor as r
union all
select 'calibration_piece' as name, count(*) as rows, max(length(cast(r.position as text))) as longest from calibration_piece as r
union all
select 'cord_check' as name, count(*) as rows, max(length(cast(r as text))) as longest from cord_check as r
union all
select 'cord_check_history' as name, count(*) as rows, max(length(cast(r as text))) as longest from cord_check_history as r
union all
select 'fill' as name, count(*) as rows, max(length(cast(r as text))) as longest from fill as r
union all
select 'fill_history' as name, count(*) as rows, max(length(cast(r as text))) as longest from fill_history as r
union all
select 'form_entry' as name, count(*) as rows, max(length(cast(r as text))) as longest from form_entry as r
union all
select 'maker_units' as name, count(*) as rows, max(length(cast(r as text))) as longest from maker_units as r
union all
select 'open_build' as name, count(*) as rows, max(length(cast(r as text))) as longest from open_build as r
union all
select 'open_build_history' as name, count(*) as rows, max(length(cast(r as text))) as longest from open_build_history as r
union all
select 'part' as name, count(*) as rows, max(length(cast(r as text))) as longest from part as r
union all
select 'part_history' as name, count(*) as rows, max(length(cast(r as text))) as longest from part_history as r
union all
select 'product' as name, count(*) as rows, max(length(cast(r as text))) as longest from product as r
union all
select 'product_history' as name, count(*) as rows, max(length(cast(r as text))) as longest from product_history as r
union all
select 'source' as name, count(*) as rows, max(length(cast(r as text))) as longest from source as r
union all
select 'source_piece' as name, count(*) as rows, max(length(cast(r.position as text))) as longest from source_piece as r
union all
select 'split' as name, count(*) as rows, max(length(cast(r as text))) as longest from split as r
order by name;
