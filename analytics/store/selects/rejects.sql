-- What: the rejected cells still to be mended. Grain: one row a fault.
-- Why: the work list, with what may be kept of the cell and what would be accepted in its place. A row that was missed
--      when the cell was read may have come in since: that is said, not what was true then.
select
    w."table", w.file, w."row", w.key, w."column",
    case
        when j.job_id is not null
            then 'job ' || j.job_id || case when w.reason like 'no job %' then ' is loaded' else ' is done' end
            || ' now: load this row''s file again, or write ' || j.job_id || ' under mended'
        when c.crack_id is not null
            then 'crack ' || c.crack_id || ' is loaded now: load this row''s file again, or write ' || c.crack_id
            || ' under mended'
        else w.reason
    end as reason,
    w.cell,
    coalesce(w.nearest, j.job_id, c.crack_id) as nearest
from waiting_rows as w
left join jobs as j
    on w."column" = 'job_id'
    and (
        j.job_id = regexp_extract(w.reason, '^no job (.+) is loaded[^a-z]', 1)
        or (j.job_id = regexp_extract(w.reason, '^job (.+) is [a-z]+, not done', 1) and j.status = 'done')
    )
left join cracks as c
    on w."column" = 'crack_id'
    and (
        c.crack_id = regexp_extract(w.reason, '^no crack (.+) is loaded[^a-z]', 1)
        or (
            c.crack_id = regexp_extract(w.reason, '^job (.+) has no crack (.+)$', 2)
            and c.job_id = regexp_extract(w.reason, '^job (.+) has no crack (.+)$', 1)
        )
    )
order by w."table", w.file, w."row", w."column"
