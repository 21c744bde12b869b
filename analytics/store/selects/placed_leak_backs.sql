-- What: every leak-back reported by the as-of date, with the repaired crack it is counted on. Grain: one row a callback.
-- Why: a call that names no crack is counted once, on its job's wettest then widest crack, and says so. Only the few
-- jobs that were called about are looked through.
select
    b.callback_id, b.job_id, b.reported_on, b.labour_minutes, b.material_cost,
    coalesce(b.crack_id, g.crack_id) as crack_id,
    b.crack_id is null and g.job_cracks > 1 as placed_by_rule
from callbacks as b
join (
    select
        c.crack_id, c.job_id,
        count(*) over (partition by c.job_id) as job_cracks,
        row_number() over (
            partition by c.job_id
            order by
                case c.water when 'running' then 4 when 'seeping' then 3 when 'damp' then 2 when 'dry' then 1 else 0 end
                desc,
                coalesce(c.width_mm, 0) desc, c.crack_id
        ) as wettest
    from cracks as c
    join (
        select distinct l.job_id
        from callbacks as l
        join done_jobs as j on j.job_id = l.job_id
        where l.finding = 'leak_back' and l.reported_on <= $as_of
    ) as called on called.job_id = c.job_id
    left join never_injected as n on n.crack_id = c.crack_id
    where n.crack_id is null
) as g on g.job_id = b.job_id and g.wettest = 1
where b.finding = 'leak_back' and b.reported_on <= $as_of
