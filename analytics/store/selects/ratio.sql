-- What: total of one column over total of another. Grain: one row a segment.
-- Why: the ratio estimator; its error is summed by job (Cochran 1977, Sampling Techniques, ch. 6), since the
-- cracks of one job share a crew, a wall and a day.
select
    {by},
    any_value(cracks) as cracks,
    any_value(jobs) as jobs,
    any_value(top) as top,
    any_value(bottom) as bottom,
    sum(power(job_top - top / bottom * job_bottom, 2)) as squared_errors
from ratio_by_job
join (
    select
        {by},
        cast(sum(job_cracks) as bigint) as cracks,
        cast(count(*) as bigint) as jobs,
        sum(job_top) as top,
        sum(job_bottom) as bottom
    from ratio_by_job
    group by {by}
) as totals using ({by})
group by {by}
