-- What: every crack of a done job, for questions about litres or minutes that are written down. Grain: one row a crack.
-- Why: of a crack that was left as it was neither is, so nobody need ask which ones were: a fifth of a ratio.
select * from cracks_of_done_jobs
