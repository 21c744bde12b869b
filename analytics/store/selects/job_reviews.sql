-- What: the engineer's reviews of one job's cracks as they are recorded. Grain: one row a review.
-- Why: a decision answers the question that is still open.
select v.*
from reviews as v
join cracks as c on c.crack_id = v.crack_id
where c.job_id = $job_id
order by v.crack_id, v.asked_on, v.review_id
