-- What: who changed what, when, the last change first. Grain: one row an entry of the trail.
-- Why: what the records rest on can be followed back, and an edit of it found by its hashes.
select number, acted_at, what, load, by_whom, details, hash
from audit
order by number desc
