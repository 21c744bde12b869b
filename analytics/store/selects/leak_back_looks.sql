-- What: each crack in its segment: how long it was watched, and whether that ended with a leak-back. Grain: one row a crack.
-- Why: what was not recorded is a segment of its own.
select {keys}, f.job_id, f.watched_days as day, f.leaked_back as event, f.alone
from follow_up as f
where {only}
