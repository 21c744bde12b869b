-- What: how long each repaired crack has been watched and whether it leaked back. Grain: one row a crack.
-- Why: the rule behind every rate: watched until its first leak-back under warranty, the warranty's end, the as-of date.
select
    d.*,
    'all' as everything,
    1 as crack,
    f.leaked_on is not null as leaked_back,
    coalesce(f.placed_by_rule, false) as placed_by_rule,
    case
        when f.leaked_on is not null then greatest(0.5, date_diff('day', d.done_on, f.leaked_on))
        else cast(date_diff('day', d.done_on, least(coalesce(d.warranty_ends_on, $as_of), $as_of)) as double)
    end as watched_days
from done_cracks as d
left join (
    select p.crack_id, min(p.reported_on) as leaked_on, bool_or(p.placed_by_rule) as placed_by_rule
    from placed_leak_backs as p
    join cracks as c on c.crack_id = p.crack_id
    join done_jobs as j on j.job_id = c.job_id
    where p.reported_on <= coalesce(j.warranty_ends_on, p.reported_on)
    group by p.crack_id
) as f on f.crack_id = d.crack_id
