-- What: every crack of a job that was quoted and won or lost, with what was known before the work. Grain: one row a crack.
-- Why: what a customer said yes or no to, priced anew as it stood on the day of the quote. No crew: a quote that was lost
-- never had one; the season is that of the day quoted for the same reason. A quote in another currency than today's is
-- left out.
select
    c.crack_id, c.job_id, cast(null as varchar) as crew_id, j.branch, j.access, j.warranty_months,
    j.quoted_on,
    j.status <> 'lost' as won,
    cast(j.price_quoted as double) as price_quoted,
    j.travel_minutes,
    s.season,
    c.water, c.direction, c.movement, c.length_m, c.width_mm, c.wall_thickness_mm, c.offset_mm, c.resin,
    c.wall_temp_c, c.port_spacing_mm,
    cast(count(*) over (partition by c.job_id) as bigint) as cracks_on_job
from cracks as c
join jobs as j on j.job_id = c.job_id
join seasons as s on s.month = month(j.quoted_on)
cross join currency_since as m
where j.status in ('lost', 'planned', 'done') and j.quoted_on <= $as_of and j.price_quoted > 0
    and (m.since is null or j.quoted_on >= m.since)
