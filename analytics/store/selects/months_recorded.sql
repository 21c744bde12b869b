-- What: how many jobs were quoted, how many done, and how many calls came in each month. Grain: one row a month and kind.
-- Why: a month with nothing written down is either a quiet month or a lost one.
select 'quoted' as kind, cast(date_trunc('month', quoted_on) as date) as month, count(*) as row_count
from jobs where quoted_on <= $as_of group by 2
union all
select 'done', cast(date_trunc('month', done_on) as date), count(*) from done_jobs group by 2
union all
select 'called', cast(date_trunc('month', reported_on) as date), count(*) from recorded_calls group by 2
