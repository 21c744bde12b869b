-- What: every row that was ever rejected. Grain: one row of a file and table.
-- Why: a line of a work list must be about one of them.
select distinct "table", file, "row" from load_rejects
