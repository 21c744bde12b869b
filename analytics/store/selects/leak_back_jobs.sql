-- What: from when to when the watching of each job's cracks ended. Grain: one row a segment and job.
-- Why: the cracks of a job are done on one day, so most jobs leave all at once; only of the others is the order needed.
-- A crack that is known to be alone in its job needs no looking for others.
select
    {by}, job_id,
    min(day) as first_day, max(day) as last_day,
    cast(count(*) as bigint) as leaving,
    cast(sum(case when event then 1 else 0 end) as bigint) as job_leaks
from leak_back_looks
where not alone
group by {by}, job_id
