-- What: the share of cracks that leaked back by an age, product-limit. Grain: one row a segment and age.
-- Why: one scan serves any grouping. The variance of log S is by job (infinitesimal jackknife), since cracks of
-- one job leak together. Influence of a crack: event / (n - d) at its age, less the Greenwood sum up to then.
select
    {by}, age_months,
    cast(sum(in_segment) as bigint) as cracks,
    cast(sum(job_events) as bigint) as events,
    cast(sum(job_watched) as bigint) as watched,
    cast(count(*) as bigint) as jobs,
    max(survival) as survival,
    max(greenwood) as greenwood,
    sum(influence * influence) as clustered
from (
    select
        {by}, age_months, job_id,
        count(*) as in_segment,
        sum(case when event then 1 else 0 end) as job_events,
        sum(case when watched_days >= age_days then 1 else 0 end) as job_watched,
        sum(case when event and at_risk > leaks then 1.0 / (at_risk - leaks) else 0 end - greenwood_so_far) as influence,
        max(survival) as survival,
        max(greenwood) as greenwood
    from leak_back_influence
    group by {by}, age_months, age_days, job_id
) as by_job
group by {by}, age_months
