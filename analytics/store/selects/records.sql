-- What: how much of each table is in force, and from when to when. Grain: one row a table.
-- Why: what is loaded, at a glance.
select 'jobs' as table_name, count(*) as row_count, min(coalesce(done_on, quoted_on)) as first_day,
    max(coalesce(done_on, quoted_on)) as last_day from jobs
union all select 'cracks', count(*), null, null from cracks
union all select 'callbacks', count(*), min(reported_on), max(reported_on) from callbacks
union all select 'rates', count(*), min(effective_on), max(effective_on) from rates
union all select 'reviews', count(*), min(asked_on), max(coalesce(decided_on, asked_on)) from reviews
