-- What: every load in force, by whom, from which file, what became of it. Grain: one row a load, table and file.
-- Why: who wonders where a row came from starts here; the last load comes first. A list of mended rows is of each table
-- that it brought rows of.
select
    l.batch, l.loaded_at, a.by_whom, t.table_name, f.file, f.sha256,
    t."read", t.loaded, t.unchanged, t.rejected
from loads as l
join load_files as f on f.batch = l.batch
join load_tables as t on t.batch = f.batch and (t.table_name = f.table_name or f.table_name = 'rejects')
left join audit as a on a.load = l.batch and a.what = 'load'
order by l.batch desc, t.table_name, f.file
