-- What: the load up to which what was measured is what was decided on. Grain: one row a crack with a decision.
-- Why: a decision was known by the load that brought it, or on its own day where that is earlier. A load of the day after
-- still counts as its day's, for the store's clock and the engineer's differ by some hours.
select d.crack_id, min(least(v.loaded_in, coalesce(b.batch, v.loaded_in))) as batch
from last_reviews as d
join reviews_rows as v on v.review_id = d.review_id and v.decision = d.decision
left join (
    select r.crack_id, max(l.batch) as batch
    from last_reviews as r
    join loads as l on cast(l.loaded_at as date) <= r.decided_on + interval 1 day
    group by r.crack_id
) as b on b.crack_id = d.crack_id
group by d.crack_id
