-- What: the day since which every rate is in a currency of today's; no day where none was in another. Grain: one row.
-- Why: an amount is in the currency of the rates of its day, and amounts of two currencies do not compare. Where one item
-- came over later than the others, nobody knows in which of the two an amount between was written down.
select max(r.replaced_on) as since
from (
    select currency, lead(effective_on) over (partition by item order by effective_on) as replaced_on
    from rates
    where effective_on <= $as_of
) as r
where r.currency not in (select currency from current_rates)
