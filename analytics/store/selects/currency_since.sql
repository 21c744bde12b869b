-- What: the day since which every rate is in a currency of today's; no day where none was in another. Grain: one row.
-- Why: an amount is in the currency of the rates of its day, and amounts of two currencies do not compare.
select min(r.effective_on) as since
from rates as r
cross join (
    select max(effective_on) as last_other
    from rates
    where effective_on <= $as_of and currency not in (select currency from current_rates)
) as o
where r.effective_on <= $as_of and r.effective_on > o.last_other
