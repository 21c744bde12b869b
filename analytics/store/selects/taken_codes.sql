-- What: which of some codes are in use already, and for what. Grain: one row a table and code.
-- Why: a new row under a number in use would replace the row that has it.
select table_name, code
from (
    select 'jobs' as table_name, job_id as code from jobs
    union all select 'cracks', crack_id from cracks
    union all select 'callbacks', callback_id from callbacks
    union all select 'reviews', review_id from reviews
) as codes
where list_contains($codes, code)
