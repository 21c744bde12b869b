-- What: how many sites and crews the jobs name. Grain: one row.
-- Why: codes stand for places and people; they are counted, never listed.
select count(distinct site_id) as sites, count(distinct crew_id) as crews from jobs
