-- What: every crack that was ever sent to an engineer, with the last word on it. Grain: one row a crack.
-- Why: a file to be quoted may hold it too; the word counts there, and a decision to inject only where the file measures
-- the crack as the records do.
select
    r.crack_id, c.job_id, r.asked_on, r.decided_on, r.decision, r.reference,
    c.direction as was_direction, c.width_mm as was_width_mm, c.offset_mm as was_offset_mm,
    c.length_m as was_length_m, c.movement as was_movement, c.water as was_water
from last_reviews as r
join cracks as c on c.crack_id = r.crack_id
