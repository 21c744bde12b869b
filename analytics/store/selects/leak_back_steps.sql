-- What: survival and its Greenwood sum at every distinct day watched. Grain: one row a segment and day.
-- Why: kept at censored days too, so a crack finds its own step by equality, and an age the last step before it.
select
    {by}, day, leaks, leaving, at_risk,
    exp(sum(case when at_risk > leaks then ln(1 - leaks / cast(at_risk as double)) else 0 end) over so_far)
        * min(case when at_risk = leaks then 0 else 1 end) over so_far as survival_so_far,
    sum(case when at_risk > leaks then leaks / (cast(at_risk as double) * (at_risk - leaks)) else 0 end) over so_far
        as greenwood_so_far
from (
    select
        *, cast(sum(leaving) over (partition by {by} order by day desc rows unbounded preceding) as bigint) as at_risk
    from (
        select
            {by}, day,
            cast(sum(case when event then 1 else 0 end) as bigint) as leaks,
            cast(count(*) as bigint) as leaving
        from leak_back_looks
        group by {by}, day
    ) as days
) as counted
window so_far as (partition by {by} order by day rows unbounded preceding)
