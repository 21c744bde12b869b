-- What: the leak-backs at each site so far. Grain: one row a site that has had one.
-- Why: a wall that leaked back before may do so again, whichever of its cracks is next, planned or only to be quoted.
select d.site_id, cast(count(distinct p.callback_id) as bigint) as site_leak_backs
from placed_leak_backs as p
join done_jobs as d on d.job_id = p.job_id
where d.site_id is not null
group by d.site_id
