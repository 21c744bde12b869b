-- What: customers' calls reported from one day to another, by what was found. Grain: one row a finding.
-- Why: a month's calls at a glance; a call nobody has looked at yet is a row of its own.
select coalesce(cast(finding as varchar), 'not looked at yet') as finding, count(*) as calls
from callbacks
where reported_on between $first_day and $last_day
group by 1
order by 1
