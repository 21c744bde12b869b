-- What: the leak-backs placed on a crack by rule. Grain: one row a callback.
-- Why: to be placed by hand, by naming the crack in callbacks.
select callback_id, job_id, crack_id, reported_on from placed_leak_backs where placed_by_rule order by reported_on
