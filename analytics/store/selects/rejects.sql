-- What: the rejected cells still to be mended. Grain: one row a fault.
-- Why: the work list, with what may be kept of the cell and what would be accepted in its place.
select "table", file, "row", key, "column", reason, cell, nearest
from waiting_rows
order by "table", file, "row", "column"
