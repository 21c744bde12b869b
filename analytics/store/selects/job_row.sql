-- What: one job as it is recorded. Grain: one row, or none.
-- Why: what is changed by hand starts from what is in force.
select * from jobs where job_id = $job_id
