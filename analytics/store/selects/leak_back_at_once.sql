-- What: jobs of which so many cracks left on one day, so many of them leaking. Grain: one row a segment, day and such pair.
-- Why: jobs that are alike have the same influence, so it is worked out once for all of them.
select {by}, last_day as day, leaving, job_leaks, cast(count(*) as bigint) as alike
from leak_back_jobs
where first_day = last_day
group by {by}, last_day, leaving, job_leaks
union all
select {by}, day, 1 as leaving, case when event then 1 else 0 end as job_leaks, cast(count(*) as bigint) as alike
from leak_back_looks
where alone
group by {by}, day, event
