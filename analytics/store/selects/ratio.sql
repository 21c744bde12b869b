-- What: total of one column over total of another. Grain: one row a segment.
-- Why: the ratio estimator; its error is summed by job (Cochran 1977, Sampling Techniques, ch. 6), since the
-- cracks of one job share a crew, a wall and a day.
select
    {by},
    cast(sum(job_cracks) as bigint) as cracks,
    cast(count(*) as bigint) as jobs,
    max(top) as top,
    max(bottom) as bottom,
    sum(power(job_top - top / bottom * job_bottom, 2)) as squared_errors
from (
    select
        *,
        sum(job_top) over (partition by {by}) as top,
        sum(job_bottom) over (partition by {by}) as bottom
    from ratio_by_job
) as jobs_with_totals
group by {by}
