-- What: every crack repaired in a job done by the as-of date. Grain: one row a crack.
-- Why: of the cracks of done jobs, those that were not left as they were.
select d.*
from cracks_of_done_jobs as d
left join never_injected as n on n.crack_id = d.crack_id
where n.crack_id is null
