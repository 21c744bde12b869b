-- What: every cell ever rejected, with its row's key and sound cells. Grain: one row a fault.
-- Why: a line of a work list must be about one of them. One is mended where a list has read it since, and rejected
--      again where a list had it rejected.
select
    r.batch, r."table", r.file, r."row", k.key, k.about, r."column", r.reason, r.cell, r.nearest, k.sound,
    coalesce(m.batch > r.batch, false) as mended, a.batch is not null as again
from load_rejects as r
left join kept_rows as k
    on k.batch = r.batch and k."table" = r."table" and k.file = r.file and k."row" = r."row"
left join (
    select "table", file, "row", max(batch) as batch from load_mended group by "table", file, "row"
) as m on m."table" = r."table" and m.file = r.file and m."row" = r."row"
left join load_mended as a
    on a.batch = r.batch and a."table" = r."table" and a.file = r.file and a."row" = r."row"
