-- What: every crack of a planned job with what is known before the work. Grain: one row a crack.
-- Why: what triage and the risk model look at, with the site's earlier leak-backs and the engineer's last
-- word. A price quoted in another currency than today's is none to hold against today's costs.
select
    c.crack_id, c.job_id, j.site_id, j.crew_id, j.branch, j.access, j.planned_on, j.quoted_on,
    case when j.quoted_on < o.since then null else j.price_quoted end as price_quoted,
    j.warranty_months, j.travel_minutes,
    m.season,
    c.water, c.direction, c.movement, c.length_m, c.width_mm, c.wall_thickness_mm, c.offset_mm, c.resin,
    c.wall_temp_c, c.port_spacing_mm,
    coalesce(s.site_leak_backs, 0) as site_leak_backs,
    r.asked_on, r.decided_on, r.decision, r.reference
from cracks as c
join jobs as j on j.job_id = c.job_id
join seasons as m on m.month = month(j.planned_on)
left join site_leak_backs as s on s.site_id = j.site_id
left join last_reviews as r on r.crack_id = c.crack_id
cross join currency_since as o
where j.status = 'planned'
