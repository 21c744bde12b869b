-- What: the loads so far, the last first. Grain: one row a load and table.
-- Why: who wonders where a row came from starts here.
select l.batch, l.loaded_at, t.table_name, t."read", t.loaded, t.unchanged, t.rejected
from loads as l
join load_tables as t on t.batch = l.batch
order by l.batch desc, t.table_name
