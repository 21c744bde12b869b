-- What: the branches and crews that jobs name. Grain: one row a column and name.
-- Why: what is typed by hand is spelled like before.
select distinct 'branch' as column_name, branch as name from jobs where branch is not null
union all
select distinct 'crew_id', crew_id from jobs where crew_id is not null
order by column_name, name
