-- What: a job's part of the two totals of a ratio. Grain: one row a segment and job.
-- Why: a crack counts only where both sides were recorded.
select
    {keys}, f.job_id, count(*) as job_cracks,
    cast(sum(f.{numerator}) as double) as job_top, cast(sum(f.{denominator}) as double) as job_bottom
from done_cracks as f
where f.{numerator} is not null and f.{denominator} is not null and {only}
group by all
