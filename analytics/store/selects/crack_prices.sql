-- What: what each done crack was sold for: its job's charge shared by length. Grain: one row a crack.
-- Why: a price is charged for a job, a quote is made for a crack; the hour of labour on the day tells what money was
-- worth then, and now. A charge in another currency than today's is not known in today's. Where the length of one crack
-- of a job is not known, nobody knows what part of the charge is its.
select
    d.crack_id,
    case
        when d.done_on < s.since then null
        when count(d.length_m) over (partition by d.job_id) = count(*) over (partition by d.job_id)
        then cast(j.price_charged as double) * d.length_m / sum(d.length_m) over (partition by d.job_id)
    end as price_share,
    cast(then_.amount as double) as labour_hour_then,
    cast(now_.amount as double) as labour_hour_now
from done_cracks as d
join jobs as j on j.job_id = d.job_id
left join (
    select effective_on as from_day, lead(effective_on) over (order by effective_on) as to_day, amount
    from rates
    where item = 'labour_hour'
) as then_ on d.done_on >= then_.from_day and (then_.to_day is null or d.done_on < then_.to_day)
left join current_rates as now_ on now_.item = 'labour_hour'
cross join currency_since as s
