-- What: the rate of each item in force on the as-of date. Grain: one row an item.
-- Why: today's costs are what the next decision pays.
select item, amount, currency, effective_on
from (
    select *, row_number() over (partition by item order by effective_on desc) as latest
    from rates
    where effective_on <= $as_of
) as ranked
where latest = 1
