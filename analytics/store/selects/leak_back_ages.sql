-- What: the ages asked for. Grain: one row an age.
-- Why: a curve is the same question at many ages.
select unnest($ages_months) as age_months, unnest($ages_days) as age_days
