-- What: every crack of a job done by the as-of date, with what its job says. Grain: one row a crack.
-- Why: the one place where bands and void volume are derived. Bands are conditions, not joins: a question that does not
-- ask for them does not pay. An edge belongs to the band above. Widths part where the trade's practice changes:
-- hairline, usual, wide, engineer first; nominal 8, 10 and 12 inch walls (203, 254, 305 mm) are in bands of their own.
-- Whether a crack is alone in its job is not looked for here: where that is known, in a kept table, it saves a grouping.
select
    c.crack_id, c.job_id, j.crew_id,
    j.branch, j.access, c.resin,
    s.season,
    j.year,
    c.water, c.direction, c.movement, c.length_m, c.width_mm, c.wall_thickness_mm, c.offset_mm, c.wall_temp_c,
    c.port_spacing_mm, c.port_count, c.resin_litres, c.labour_minutes, c.cleaned, c.dried, c.water_tested,
    j.warranty_months, j.done_on, j.warranty_ends_on,
    case
        when c.width_mm < 0.3 then 'under 0.3 mm' when c.width_mm < 1 then '0.3 to 1 mm'
        when c.width_mm < 3 then '1 to 3 mm' when c.width_mm < 5 then '3 to 5 mm'
        when c.width_mm >= 5 then '5 mm and over'
    end as width_band,
    case
        when c.wall_thickness_mm < 190 then 'under 190 mm' when c.wall_thickness_mm < 230 then '190 to 230 mm'
        when c.wall_thickness_mm < 280 then '230 to 280 mm' when c.wall_thickness_mm >= 280 then '280 mm and over'
    end as thickness_band,
    c.width_mm * c.wall_thickness_mm * c.length_m / 1000 as void_litres,
    'all' as everything,
    1 as crack,
    false as alone
from cracks as c
join done_jobs as j on j.job_id = c.job_id
join seasons as s on s.month = month(j.done_on)
