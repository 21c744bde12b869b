-- What: codes that differ only in capitals, spaces, dashes or underscores. Grain: one row a column and such a group.
-- Why: one job, crack, crew or branch written in two ways is counted as two.
select column_name, string_agg(code, ', ' order by code) as spellings, cast(sum(row_count) as bigint) as row_count
from (
    select 'job_id' as column_name, job_id as code, count(*) as row_count from jobs group by job_id
    union all select 'crack_id', crack_id, count(*) from cracks group by crack_id
    union all select 'callback_id', callback_id, count(*) from callbacks group by callback_id
    union all select 'review_id', review_id, count(*) from reviews group by review_id
    union all select 'crew_id', crew_id, count(*) from jobs where crew_id is not null group by crew_id
    union all select 'branch', branch, count(*) from jobs where branch is not null group by branch
) as codes
group by column_name, regexp_replace(lower(trim(code)), '[ _-]+', '-', 'g')
having count(*) > 1
order by column_name, spellings
