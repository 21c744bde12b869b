-- What: each crack as seen up to each age. Grain: one row a crack and age.
-- Why: follow-up is cut at the age asked for. What was not recorded is a segment of its own.
select
    {keys}, f.job_id, a.age_months, a.age_days, f.watched_days,
    least(f.watched_days, a.age_days) as day,
    f.leaked_back and f.watched_days <= a.age_days as event
from follow_up as f
cross join leak_back_ages as a
where {only}
