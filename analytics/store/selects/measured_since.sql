-- What: cracks measured anew since the engineer decided. Grain: one row a decided crack whose measurements changed.
-- Why: a decision holds for what it was made on; what was measured then and what is now, and since which day.
select
    n.crack_id, cast(l.loaded_at as date) as changed_on,
    w.direction as was_direction, w.width_mm as was_width_mm, w.offset_mm as was_offset_mm,
    w.length_m as was_length_m, w.movement as was_movement, w.water as was_water,
    n.direction, n.width_mm, n.offset_mm, n.length_m, n.movement, n.water
from (
    select
        c.*,
        row_number() over (
            partition by c.crack_id
            order by c.loaded_in <= d.batch desc, abs(c.loaded_in - d.batch)
        ) as nearest
    from cracks_rows as c
    join last_decisions as d on d.crack_id = c.crack_id
) as w
join cracks_rows as n on n.crack_id = w.crack_id and n.replaced_in is null
join loads as l on l.batch = n.loaded_in
where w.nearest = 1
and n.loaded_in > w.loaded_in
and (
    n.direction is distinct from w.direction or n.width_mm is distinct from w.width_mm
    or n.offset_mm is distinct from w.offset_mm or n.length_m is distinct from w.length_m
    or n.movement is distinct from w.movement or n.water is distinct from w.water
)
