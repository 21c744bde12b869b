-- What: each crack's influence on log survival once it is no longer watched, and its job's by then. Grain: one row a crack.
-- Why: what the clustered variance is summed from. Influence: event / (n - d) at its day, less the Greenwood sum to then.
select
    {by}, job_id, day, influence,
    sum(influence) over so_far as job_influence,
    count(*) over (partition by {by}, job_id) - row_number() over so_far as job_watched
from (
    select
        *,
        case when event and at_risk > leaks then 1.0 / (at_risk - leaks) else 0 end - greenwood_so_far as influence
    from leak_back_looks
    join leak_back_steps using ({by}, day)
) as cracks
window so_far as (partition by {by}, job_id order by day, crack_id rows unbounded preceding)
