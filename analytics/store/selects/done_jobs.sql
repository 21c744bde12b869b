-- What: every job done by the as-of date, as it was recorded. Grain: one row a job.
-- Why: how complete the records are is asked of finished work, where everything could have been written down.
select
    job_id, site_id, branch, crew_id, quoted_on, planned_on, done_on, access, price_quoted, price_charged,
    travel_minutes, warranty_months,
    cast(done_on + warranty_months * interval 1 month as date) as warranty_ends_on,
    cast(year(done_on) as bigint) as year
from jobs
where status = 'done' and done_on <= $as_of
