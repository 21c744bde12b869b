"""A metric, asked for by name."""

from collections.abc import Mapping, Sequence

from analytics import metrics
from analytics.answers.records import Records
from analytics.contract.bounds import USUAL_LEVEL, require_months
from analytics.contract.dimensions import NOT_RECORDED, Dimension, dimension, dimensions
from analytics.contract.rows import Rows
from analytics.errors import UnknownNameError
from analytics.metrics import Measured


def measure(
    records: Records,
    metric: str,
    by: Sequence[str] = (),
    *,
    months: int = 24,
    level: float = USUAL_LEVEL,
    only: Mapping[str, str] | None = None,
) -> Measured:
    """The metric called ``metric`` by the groupings called ``by``; UnknownNameError for a name that is not known."""
    require_months(months)
    narrowed: dict[Dimension, str] = {dimension(key): value for key, value in (only or {}).items()}
    for grouping, value in narrowed.items():
        _require_value(grouping, value)
    found = metrics.metric(metric)
    return metrics.measure(records.ask, found, dimensions(by), months=months, level=level, only=narrowed)


def _require_value(grouping: Dimension, value: str) -> None:
    """UnknownNameError for a value that none of a grouping's cracks can have."""
    if grouping.values and value not in {*grouping.values, NOT_RECORDED}:
        raise UnknownNameError(grouping.name, value, grouping.values)


def answer(records: Records, measured: Measured) -> dict[str, object]:
    """The contract's answer."""
    asked = {"months": measured.months} if measured.months is not None else {}
    return {
        "metric": measured.metric.name,
        "unit": measured.metric.unit,
        "as_of": records.as_of,
        "level": measured.level,
        **asked,
        "rows": Rows.of(measured.rows.drop("age_months", strict=False)),
    }
