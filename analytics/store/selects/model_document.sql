-- What: the risk model kept last. Grain: at most one row.
-- Why: a model older than the records, or of other seasons, is fitted again.
select document, fitted_at
from models
where rows_version = (select coalesce(max(batch), 0) from loads where rows_changed > 0) and hemisphere = $hemisphere
order by model desc
limit 1
