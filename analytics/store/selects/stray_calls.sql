-- What: calls that do not fit their job as it is recorded now. Grain: one row a callback.
-- Why: a call is held to its job when it comes in. A later row may take the job back to planned, move its day behind the
-- call, or give the crack to another job; the call stands, and counts on what it names or on nothing.
select
    b.callback_id, b.job_id, b.reported_on, b.finding,
    case
        when j.status <> 'done' then concat('the job is ', j.status, ', not done')
        when b.reported_on < j.done_on then 'reported before the job was done'
        else concat('crack ', b.crack_id, ' is of job ', c.job_id, ' now')
    end as why
from callbacks as b
join jobs as j on j.job_id = b.job_id
left join cracks as c on c.crack_id = b.crack_id
where j.status <> 'done' or b.reported_on < j.done_on or c.job_id <> b.job_id
order by b.reported_on, b.callback_id
