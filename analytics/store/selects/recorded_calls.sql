-- What: every call reported by the as-of date, as it was recorded. Grain: one row a callback.
-- Why: what is not looked at, or not placed, is work to be done.
select
    b.callback_id, b.job_id, b.crack_id, b.reported_on, b.finding, b.labour_minutes, b.material_cost,
    cast(year(b.reported_on) as bigint) as year
from callbacks as b
where b.reported_on <= $as_of
