-- What: loaded rows about which something is odd. Grain: one row an oddity.
-- Why: only the latest reading of a file counts, and of a row that was mended from a list or typed by hand.
select w."table", w.file, w."row", w."column", w.reason
from load_warnings as w
where not exists (
    select 1 from load_files as f where f.table_name = w."table" and f.file = w.file and f.batch > w.batch
)
and not exists (
    select 1 from load_mended as m
    where m."table" = w."table" and m.file = w.file and m."row" = w."row" and m.batch > w.batch
)
order by w."table", w.file, w."row", w."column"
