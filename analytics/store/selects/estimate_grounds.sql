-- What: of how many rows each estimate speaks, and how many have all it needs. Grain: one row an estimate.
-- Why: what a gap in the records costs, estimate by estimate. A sum is null where any of its terms is.
select 'material_per_metre' as estimate, count(*) as row_count, count(resin_litres + length_m) as usable
from done_cracks
union all select 'take_ratio', count(*), count(resin_litres + void_litres) from done_cracks
union all select 'labour_per_crack', count(*), count(labour_minutes) from done_cracks
union all select 'labour_per_metre', count(*), count(labour_minutes + length_m) from done_cracks
union all select 'by_resin', count(*), count(resin) from done_cracks
union all select 'by_water', count(*), count(water) from done_cracks
union all select 'by_width', count(*), count(width_mm) from done_cracks
union all select 'by_movement', count(*), count(movement) from done_cracks
union all select 'habits', count(*), count(case when cleaned is not null and dried is not null and water_tested is not null then 1 end)
from done_cracks
union all select 'charged', count(*), count(price_charged) from done_jobs
union all select 'travel', count(*), count(travel_minutes) from done_jobs
union all select 'findings', count(*), count(finding) from recorded_calls
union all select 'leak_back_cost', count(*), count(labour_minutes + material_cost) from recorded_calls where finding = 'leak_back'
union all select 'placed', count(*), count(case when not placed_by_rule then 1 end) from placed_leak_backs
