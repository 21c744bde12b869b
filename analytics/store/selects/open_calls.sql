-- What: calls nobody has looked at yet. Grain: one row a callback.
-- Why: any of them may be a leak-back that no rate counts.
select callback_id, job_id, reported_on from recorded_calls where finding is null order by reported_on, callback_id
