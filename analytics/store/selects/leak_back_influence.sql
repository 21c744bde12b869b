-- What: the influence on log survival of cracks no longer watched. Grain: a segment, day and job, or jobs that are alike.
-- Why: what the clustered variance is summed from. Influence of a crack: event / (n - d) at its day, less the Greenwood
-- sum to then. A job whose cracks leave on one day is one row; in the others each day follows the ones before.
select {by}, day, alike, job_ended, influence, influence as job_influence, 0 as job_watched
from (
    select
        {by}, day, j.alike, j.leaving as job_ended,
        case when at_risk > leaks then j.job_leaks / cast(at_risk - leaks as double) else 0 end
            - j.leaving * greenwood_so_far as influence
    from leak_back_at_once as j
    join leak_back_steps using ({by}, day)
) as at_once
union all
select
    {by}, day, 1 as alike, job_ended, influence,
    sum(influence) over so_far as job_influence,
    sum(job_ended) over (partition by {by}, job_id) - sum(job_ended) over so_far as job_watched
from (
    select
        {by}, job_id, day, count(*) as job_ended,
        sum(case when event and at_risk > leaks then 1.0 / (at_risk - leaks) else 0 end - greenwood_so_far) as influence
    from leak_back_looks
    join (select {by}, job_id from leak_back_jobs where first_day < last_day) as j using ({by}, job_id)
    join leak_back_steps using ({by}, day)
    group by {by}, job_id, day
) as day_by_day
window so_far as (partition by {by}, job_id order by day rows unbounded preceding)
