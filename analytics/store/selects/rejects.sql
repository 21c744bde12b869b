-- What: the rejected cells still to be mended. Grain: one row a fault.
-- Why: the work list, with what may be kept of the cell and what would be accepted in its place. A row that was missed
--      when the cell was read may have come in since: that is said, not what was true then.
--      What was missed is read from the reason once a row, and then joined by its code alone: no row against every job.
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
from (
    select
        *,
        case when "column" = 'job_id' then coalesce(
            nullif(regexp_extract(reason, '^no job (.+) is loaded[^a-z]', 1), ''),
            nullif(regexp_extract(reason, '^job (.+) is [a-z]+, not done', 1), '')
        ) end as job,
        case when "column" = 'crack_id' then coalesce(
            nullif(regexp_extract(reason, '^no crack (.+) is loaded[^a-z]', 1), ''),
            nullif(regexp_extract(reason, '^job (.+) has no crack (.+)$', 2), '')
        ) end as crack,
        nullif(regexp_extract(reason, '^job (.+) has no crack (.+)$', 1), '') as its_job
    from waiting_rows
) as w
left join jobs as j on j.job_id = w.job and (w.reason like 'no job %' or j.status = 'done')
left join cracks as c on c.crack_id = w.crack and (w.its_job is null or c.job_id = w.its_job)
order by w."table", w.file, w."row", w."column"
