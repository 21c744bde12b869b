-- What: a job's part of the two totals of a ratio. Grain: one row a segment and job.
-- Why: a crack counts only where both sides were recorded, so never one that was left as it was: no work is written down.
select
    {keys}, f.job_id, count(*) as job_cracks,
    cast(sum(f.{numerator}) as double) as job_top, cast(sum(f.{denominator}) as double) as job_bottom
from cracks_of_done_jobs as f
where f.{numerator} is not null and f.{denominator} is not null and {only}
group by all
