-- What: the numbers of the rows that the last load brought. Grain: one row a table and number.
-- Why: who takes an entry by hand back must see which one it is.
select table_name, code
from (
    select 'jobs' as table_name, job_id as code, loaded_in from jobs_rows
    union all select 'cracks', crack_id, loaded_in from cracks_rows
    union all select 'callbacks', callback_id, loaded_in from callbacks_rows
    union all select 'rates', cast(effective_on as varchar) || ' ' || item, loaded_in from rates_rows
    union all select 'reviews', review_id, loaded_in from reviews_rows
) as brought
where loaded_in = (select max(batch) from loads)
order by table_name = 'jobs' desc, table_name, code
