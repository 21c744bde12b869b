-- What: the jobs that a number typed by heart may mean. Grain: one row a job.
-- Why: on a phone nobody types capitals, letters and noughts as they stand in the files, and many type a crack's number.
select job_id
from jobs
where lower(job_id) = lower($typed)
    or (
        $typed not like '%.%'
        and try_cast(regexp_replace(job_id, '[^0-9]', '', 'g') as bigint)
            = try_cast(regexp_replace($typed, '[^0-9]', '', 'g') as bigint)
        and regexp_replace(lower($typed), '[^a-z]', '', 'g') in ('', regexp_replace(lower(job_id), '[^a-z]', '', 'g'))
    )
union
select job_id from cracks where lower(crack_id) = lower($typed)
