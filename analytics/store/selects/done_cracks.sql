-- What: every crack of a job done by the as-of date, with what its job says. Grain: one row a crack.
-- Why: the one place where bands and void volume are derived.
select
    c.crack_id, c.job_id, j.site_id, j.crew_id,
    j.branch, j.access, c.resin,
    s.season,
    j.year,
    c.water, c.direction, c.movement, c.length_m, c.width_mm, c.wall_thickness_mm, c.offset_mm, c.wall_temp_c,
    c.port_spacing_mm, c.port_count, c.resin_litres, c.labour_minutes, c.cleaned, c.dried, c.water_tested,
    j.warranty_months, j.done_on, j.warranty_ends_on,
    w.width_band, t.thickness_band,
    c.width_mm * c.wall_thickness_mm * c.length_m / 1000 as void_litres
from cracks as c
join done_jobs as j on j.job_id = c.job_id
join seasons as s on s.month = month(j.done_on)
left join width_bands as w on c.width_mm >= w.width_from and c.width_mm < w.width_to
left join thickness_bands as t on c.wall_thickness_mm >= t.thickness_from and c.wall_thickness_mm < t.thickness_to
