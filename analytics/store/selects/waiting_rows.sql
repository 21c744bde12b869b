-- What: the rejected cells still to be mended, each with its row's sound cells. Grain: one row a fault.
-- Why: a file loaded again speaks for itself and a row mended from a list for itself, so only the latest reading counts.
select r.batch, r."table", r.file, r."row", r."column", r.reason, r.cell, r.nearest, w.sound
from load_rejects as r
left join load_waiting as w
    on w.batch = r.batch and w."table" = r."table" and w.file = r.file and w."row" = r."row"
where not exists (
    select 1 from load_files as f where f.table_name = r."table" and f.file = r.file and f.batch > r.batch
)
and not exists (
    select 1 from load_mended as m
    where m."table" = r."table" and m.file = r.file and m."row" = r."row" and m.batch > r.batch
)
