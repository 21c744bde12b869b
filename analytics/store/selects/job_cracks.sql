-- What: the cracks of one job as they are recorded. Grain: one row a crack.
-- Why: what is changed by hand starts from what is in force.
select * from cracks where job_id = $job_id order by crack_id
