-- What: the day the records reach. Grain: one row.
-- Why: follow-up ends on the latest day somebody wrote something down, never on the wall clock.
select max(day) as as_of
from (
    select max(quoted_on) as day from jobs
    union all select max(done_on) as day from jobs
    union all select max(reported_on) as day from callbacks
) as days
