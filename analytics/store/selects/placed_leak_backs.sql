-- What: every leak-back reported by the as-of date, with the crack it is counted on. Grain: one row a callback.
-- Why: a call that names no crack is counted once, on its job's wettest then widest crack, and says so.
select
    b.callback_id, b.job_id, b.reported_on, b.labour_minutes, b.material_cost,
    coalesce(b.crack_id, g.crack_id) as crack_id,
    b.crack_id is null and g.job_cracks > 1 as placed_by_rule
from callbacks as b
join (
    select
        crack_id, job_id,
        count(*) over (partition by job_id) as job_cracks,
        row_number() over (
            partition by job_id
            order by
                case water when 'running' then 4 when 'seeping' then 3 when 'damp' then 2 when 'dry' then 1 else 0 end
                desc,
                coalesce(width_mm, 0) desc, crack_id
        ) as wettest
    from done_cracks
) as g on g.job_id = b.job_id and g.wettest = 1
where b.finding = 'leak_back' and b.reported_on <= $as_of
