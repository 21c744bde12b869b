-- What: how many rows of finished work and of calls have each column filled. Grain: one row a table, column and year.
-- Why: an estimate rests on what was written down. Left out: keys, columns every row must have, and the warranty,
-- whose blank has a meaning of its own.
select 'jobs' as table_name, 'site_id' as column_name, year, count(*) as row_count, count(site_id) as filled
from done_jobs group by year
union all select 'jobs', 'branch', year, count(*), count(branch) from done_jobs group by year
union all select 'jobs', 'quoted_on', year, count(*), count(quoted_on) from done_jobs group by year
union all select 'jobs', 'planned_on', year, count(*), count(planned_on) from done_jobs group by year
union all select 'jobs', 'access', year, count(*), count(access) from done_jobs group by year
union all select 'jobs', 'price_quoted', year, count(*), count(price_quoted) from done_jobs group by year
union all select 'jobs', 'price_charged', year, count(*), count(price_charged) from done_jobs group by year
union all select 'jobs', 'travel_minutes', year, count(*), count(travel_minutes) from done_jobs group by year
union all select 'cracks', 'length_m', year, count(*), count(length_m) from done_cracks group by year
union all select 'cracks', 'width_mm', year, count(*), count(width_mm) from done_cracks group by year
union all select 'cracks', 'wall_thickness_mm', year, count(*), count(wall_thickness_mm) from done_cracks group by year
union all select 'cracks', 'direction', year, count(*), count(direction) from done_cracks group by year
union all select 'cracks', 'water', year, count(*), count(water) from done_cracks group by year
union all select 'cracks', 'movement', year, count(*), count(movement) from done_cracks group by year
union all select 'cracks', 'offset_mm', year, count(*), count(offset_mm) from done_cracks group by year
union all select 'cracks', 'resin', year, count(*), count(resin) from done_cracks group by year
union all select 'cracks', 'wall_temp_c', year, count(*), count(wall_temp_c) from done_cracks group by year
union all select 'cracks', 'port_spacing_mm', year, count(*), count(port_spacing_mm) from done_cracks group by year
union all select 'cracks', 'port_count', year, count(*), count(port_count) from done_cracks group by year
union all select 'cracks', 'resin_litres', year, count(*), count(resin_litres) from done_cracks group by year
union all select 'cracks', 'labour_minutes', year, count(*), count(labour_minutes) from done_cracks group by year
union all select 'cracks', 'cleaned', year, count(*), count(cleaned) from done_cracks group by year
union all select 'cracks', 'dried', year, count(*), count(dried) from done_cracks group by year
union all select 'cracks', 'water_tested', year, count(*), count(water_tested) from done_cracks group by year
union all select 'callbacks', 'crack_id', year, count(*), count(crack_id) from recorded_calls group by year
union all select 'callbacks', 'finding', year, count(*), count(finding) from recorded_calls group by year
union all select 'callbacks', 'labour_minutes', year, count(*), count(labour_minutes) from recorded_calls group by year
union all select 'callbacks', 'material_cost', year, count(*), count(material_cost) from recorded_calls group by year
