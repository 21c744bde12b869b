-- What: a job's part of the two totals of a ratio. Grain: one row a segment and job.
-- Why: a crack counts only where both sides were recorded. One that is known to be alone in its job is the job's part.
select
    {keys}, f.job_id, 1 as job_cracks,
    cast(f.{numerator} as double) as job_top, cast(f.{denominator} as double) as job_bottom
from recorded_work as f
where f.alone and f.{numerator} is not null and f.{denominator} is not null and {only}
union all
select
    {keys}, f.job_id, count(*) as job_cracks,
    cast(sum(f.{numerator}) as double) as job_top, cast(sum(f.{denominator}) as double) as job_bottom
from recorded_work as f
where not f.alone and f.{numerator} is not null and f.{denominator} is not null and {only}
group by all
