-- What: each crack with its own step and its segment's last. Grain: one row a crack and age.
-- Why: what the clustered variance is summed from.
select
    *,
    min(survival_so_far) over (partition by {by}, age_months) as survival,
    max(greenwood_so_far) over (partition by {by}, age_months) as greenwood
from leak_back_looks
join leak_back_steps using ({by}, age_months, day)
