-- What: how long each repaired crack has been watched and whether it leaked back. Grain: one row a crack.
-- Why: the rule behind every rate: watched until its first leak-back under warranty, the warranty's end, the as-of date.
-- The first call is under warranty where any is, so only the first is held to the warranty.
select
    w.* exclude (leaked_on),
    case
        when w.leaked_back then greatest(0.5, date_diff('day', w.done_on, w.leaked_on))
        else cast(date_diff('day', w.done_on, least(coalesce(w.warranty_ends_on, $as_of), $as_of)) as double)
    end as watched_days
from (
    select
        d.*, f.leaked_on,
        coalesce(f.leaked_on <= coalesce(d.warranty_ends_on, f.leaked_on), false) as leaked_back,
        coalesce(f.placed_on <= coalesce(d.warranty_ends_on, f.placed_on), false) as placed_by_rule
    from done_cracks as d
    left join (
        select
            crack_id, min(reported_on) as leaked_on, min(case when placed_by_rule then reported_on end) as placed_on
        from placed_leak_backs
        group by crack_id
    ) as f on f.crack_id = d.crack_id
) as w
