-- What: the calls about one job as they are recorded. Grain: one row a callback.
-- Why: what is changed by hand starts from what is in force.
select * from callbacks where job_id = $job_id order by reported_on, callback_id
