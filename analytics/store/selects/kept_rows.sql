-- What: rows rejected, or read where one was waited for, by their keys. Grain: one row of a file, table and load.
-- Why: a row is known again by its key, wherever it stands in whichever file; null where it was not read whole.
select
    batch, "table", file, "row", sound,
    case "table"
        when 'jobs' then json_extract_string(sound, '$.job_id')
        when 'cracks' then json_extract_string(sound, '$.crack_id')
        when 'callbacks' then json_extract_string(sound, '$.callback_id')
        when 'rates'
            then json_extract_string(sound, '$.effective_on') || ' ' || json_extract_string(sound, '$.item')
        when 'reviews' then json_extract_string(sound, '$.review_id')
    end as key,
    case "table"
        when 'cracks' then json_extract_string(sound, '$.job_id')
        when 'callbacks' then json_extract_string(sound, '$.job_id')
        when 'reviews' then json_extract_string(sound, '$.crack_id')
    end as about
from load_waiting
