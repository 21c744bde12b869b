-- What: the share of cracks that leaked back by an age, product-limit. Grain: one row a segment and age.
-- Why: one scan serves any grouping and any number of ages. The variance of log S is by job (infinitesimal jackknife),
-- since cracks of one job leak together. The sum of m squared is that of the changes still to come, as m ends at 0.
select
    {by}, age_months, cracks, events, watched, jobs, survival, greenwood,
    ff - 2 * greenwood * fm + greenwood * greenwood * mm as clustered
from (
    select
        {by}, age_months,
        cast(sum(leaving) as bigint) as cracks,
        cast(sum(case when day <= age_days then leaks else 0 end) as bigint) as events,
        cast(sum(case when day >= age_days then leaving else 0 end) as bigint) as watched,
        cast(sum(jobs_over) as bigint) as jobs,
        min(case when day <= age_days then survival_so_far else 1 end) as survival,
        max(case when day <= age_days then greenwood_so_far else 0 end) as greenwood,
        sum(case when day <= age_days then ff else 0 end) as ff,
        sum(case when day <= age_days then fm else 0 end) as fm,
        -sum(case when day > age_days then mm else 0 end) as mm
    from leak_back_steps
    join leak_back_spread using ({by}, day)
    cross join leak_back_ages
    group by {by}, age_months, age_days
) as by_age
