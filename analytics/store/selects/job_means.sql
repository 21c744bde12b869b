-- What: each done job's mean of every measurement of its cracks, and its own amounts. Grain: one row a done job.
-- Why: cracks of one job go together, so years are compared job by job.
select
    j.year,
    avg(c.length_m) as length_m,
    avg(c.width_mm) as width_mm,
    avg(c.wall_thickness_mm) as wall_thickness_mm,
    avg(c.offset_mm) as offset_mm,
    avg(c.wall_temp_c) as wall_temp_c,
    avg(c.port_spacing_mm) as port_spacing_mm,
    cast(avg(c.port_count) as double) as port_count,
    avg(c.resin_litres) as resin_litres,
    avg(c.labour_minutes) as labour_minutes,
    any_value(j.travel_minutes) as travel_minutes,
    cast(any_value(j.price_quoted) as double) as price_quoted,
    cast(any_value(j.price_charged) as double) as price_charged
from done_jobs as j
left join done_cracks as c on c.job_id = j.job_id
group by j.job_id, j.year
