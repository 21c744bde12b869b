-- What: how each day changes three sums over jobs: of F squared, of F m, of m squared. Grain: one row a segment and day.
-- Why: F is the influence of a job's cracks no longer watched, m how many still are; at an age with Greenwood sum H a
-- job's influence is F - H m, so these sums give the clustered variance at every age from one look at each crack.
select
    {by}, day,
    cast(sum(case when job_watched = 0 then alike else 0 end) as bigint) as jobs_over,
    sum(alike * influence * (2 * job_influence - influence)) as ff,
    sum(alike * (influence * job_watched - job_ended * (job_influence - influence))) as fm,
    cast(sum(-alike * job_ended * (2 * job_watched + job_ended)) as double) as mm
from leak_back_influence
group by {by}, day
