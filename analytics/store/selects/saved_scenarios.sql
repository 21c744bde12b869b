-- What: the what-ifs saved by name, the oldest first. Grain: one row a scenario.
-- Why: the same questions are asked of the price book again and again.
select name, saved_at, document
from scenarios
order by saved_at, name
