-- What: cracks of done jobs that were left as they were. Grain: one row a crack.
-- Why: a job is done when its other cracks are. A crack nobody repaired cannot leak back, and would make every rate lower:
-- an engineer had decided against injecting it by the day of the job, and no work on it is written down.
select c.crack_id
from last_reviews as r
join cracks as c on c.crack_id = r.crack_id
join done_jobs as j on j.job_id = c.job_id
where r.decision <> 'inject' and r.decided_on <= j.done_on
and c.resin_litres is null and c.labour_minutes is null and c.port_count is null
