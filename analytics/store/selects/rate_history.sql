-- What: every rate from the day it holds, to the as-of date. Grain: one row an item and day.
-- Why: a quote is judged at the costs of its own day.
select effective_on, item, cast(amount as double) as amount, currency
from rates
where effective_on <= $as_of
