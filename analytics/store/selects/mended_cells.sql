-- What: the rejected cells of rows that a work list has mended since, kept whole. Grain: one row a load and fault.
-- Why: the file they were read from, loaded again as it was, says nothing new about them.
select r.batch, r."table", r.file, r."row", r.sound, r."column", r.cell
from rejected_rows as r
where exists (
    select 1
    from readings as n
    join load_files as f on f.batch = n.batch and f.table_name = 'rejects'
    where n."table" = r."table" and n.key = r.key and n.batch > r.batch
    and not exists (
        select 1 from rejected_rows as x
        where x.batch = n.batch and x."table" = r."table"
        and (x.key = r.key or (x.key is null and x.file = r.file and x."row" = r."row"))
    )
)
