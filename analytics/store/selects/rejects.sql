-- What: the rejected cells still to be mended. Grain: one row a fault.
-- Why: a file loaded again speaks for itself, so only its latest load counts.
select r."table", r.file, r."row", r."column", r.reason
from load_rejects as r
join (
    select table_name, file, max(batch) as batch from load_files group by table_name, file
) as latest on latest.table_name = r."table" and latest.file = r.file and latest.batch = r.batch
order by r."table", r.file, r."row", r."column"
