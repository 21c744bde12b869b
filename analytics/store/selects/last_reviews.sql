-- What: the engineer's last word on each crack. Grain: one row a crack that was ever sent to an engineer.
-- Why: the latest decision counts; a question asked after it is open again.
select review_id, crack_id, asked_on, decided_on, decision, reference
from (
    select
        *,
        row_number() over (
            partition by crack_id
            order by coalesce(decided_on, asked_on) desc nulls last, asked_on desc nulls last, review_id desc
        ) as latest
    from reviews
) as ranked
where latest = 1
