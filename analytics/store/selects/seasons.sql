-- What: the meteorological season of each calendar month. Grain: one row a month.
-- Why: the one place where a hemisphere turns the seasons round; December is winter in the north.
select
    month,
    case ((month + case when $hemisphere = 'south' then 6 else 0 end) % 12) // 3
        when 0 then 'winter' when 1 then 'spring' when 2 then 'summer' else 'autumn' end as season
from (values (1), (2), (3), (4), (5), (6), (7), (8), (9), (10), (11), (12)) as months (month)
