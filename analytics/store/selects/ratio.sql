-- What: total of one column over total of another. Grain: one row a segment.
-- Why: the ratio estimator; its error is summed by job (Cochran 1977, Sampling Techniques, ch. 6), since the
-- cracks of one job share a crew, a wall and a day. The jobs' parts lie about the ratio as about their means, for the
-- ratio is that of the means: so one pass does, by the sums of squares about the means.
select
    {by}, cracks, jobs, top, bottom,
    top_squares - 2 * top / bottom * products + power(top / bottom, 2) * bottom_squares as squared_errors
from (
    select
        {by},
        cast(sum(job_cracks) as bigint) as cracks,
        cast(count(*) as bigint) as jobs,
        sum(job_top) as top,
        sum(job_bottom) as bottom,
        regr_syy(job_top, job_bottom) as top_squares,
        regr_sxy(job_top, job_bottom) as products,
        regr_sxx(job_top, job_bottom) as bottom_squares
    from ratio_by_job
    group by {by}
) as totals
