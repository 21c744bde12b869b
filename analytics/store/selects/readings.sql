-- What: which load read which key: brought its row, rejected it, or met it while it waited. Grain: one reading.
-- Why: a row that is read again speaks for itself.
select 'jobs' as "table", job_id as key, null as about, loaded_in as batch from jobs_rows
union all select 'cracks', crack_id, job_id, loaded_in from cracks_rows
union all select 'callbacks', callback_id, job_id, loaded_in from callbacks_rows
union all select 'rates', cast(effective_on as varchar) || ' ' || item, null, loaded_in from rates_rows
union all select 'reviews', review_id, crack_id, loaded_in from reviews_rows
union all select "table", key, about, batch from kept_rows
