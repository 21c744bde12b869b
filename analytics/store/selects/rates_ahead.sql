-- What: the rates that hold from a day after the as-of date. Grain: one row an item and day.
-- Why: who sets a rate sees it there before the records reach its day.
select item, amount, currency, effective_on
from rates
where effective_on > $as_of
