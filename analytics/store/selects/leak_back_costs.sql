-- What: what each looked-at leak-back took to put right. Grain: one row a leak-back with its minutes recorded.
-- Why: the firm's own callbacks are the only honest price of a leak-back. What is blank is not known, not nothing;
-- so is material that was paid in another currency than today's.
select
    p.callback_id, p.reported_on, p.labour_minutes,
    case when p.reported_on < s.since then null else p.material_cost end as material_cost,
    j.travel_minutes
from placed_leak_backs as p
join jobs as j on j.job_id = p.job_id
cross join currency_since as s
where p.labour_minutes is not null
