-- What: what each job was sold for, and what it shares over its cracks. Grain: one row a job with cracks.
-- Why: a price and a journey belong to the job, costs are counted by the crack. What was charged in another currency
-- does not compare with today's costs.
select
    j.job_id,
    case when j.done_on < s.since then null else cast(j.price_charged as double) end as price_charged,
    j.travel_minutes,
    c.cracks_on_job
from jobs as j
join (select job_id, cast(count(*) as bigint) as cracks_on_job from cracks group by job_id) as c on c.job_id = j.job_id
cross join currency_since as s
