-- What: the rejected cells still to be mended, each with its row's key and sound cells. Grain: one row a fault.
-- Why: a row waits until it is read again: by its key, else by the name of its file, or by its place in a work list.
--      A row of that key that is about another job, or another crack, is not that row.
select r.*
from rejected_rows as r
where not exists (
    select 1 from readings as n
    where n."table" = r."table" and n.key = r.key and n.batch > r.batch
    and coalesce(n.about, r.about, '') = coalesce(r.about, n.about, '')
)
and not exists (
    select 1 from load_files as f
    where r.key is null and f.table_name = r."table" and f.file = r.file and f.batch > r.batch
)
and not (r.key is null and r.mended)
