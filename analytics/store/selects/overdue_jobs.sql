-- What: planned jobs whose day is past. Grain: one row a job.
-- Why: they were done and not closed, or put off and not planned anew.
select job_id, planned_on, crew_id from jobs where status = 'planned' and planned_on < $as_of order by planned_on, job_id
