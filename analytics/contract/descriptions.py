"""A declared column in words: its unit, kind and limits, for reasons, tooltips and the data dictionary."""

import re

import dataframely as dy
import polars as pl

KINDS: dict[type[dy.Column], str] = {
    dy.Enum: "one word of a list",
    dy.Date: "day",
    dy.Bool: "yes or no",
    dy.Decimal: "amount",
    dy.String: "code or name",
    dy.Float64: "number",
    dy.Int64: "whole number",
}

_LABELS = {
    "job_id": "job number",
    "crack_id": "crack number",
    "callback_id": "call number",
    "review_id": "review number",
    "site_id": "site",
    "crew_id": "crew",
    "planned_on": "planned for",
    "travel_minutes": "travel",
    "warranty_months": "warranty",
    "length_m": "length",
    "width_mm": "width",
    "wall_thickness_mm": "wall thickness",
    "offset_mm": "offset",
    "wall_temp_c": "wall temperature",
    "port_spacing_mm": "port spacing",
    "port_count": "ports",
    "resin_litres": "resin used",
    "labour_minutes": "labour",
    "water_tested": "water-tested",
    "reference": "number of the engineer's letter",
    "effective_on": "in force from",
    "cracks_on_job": "cracks on the job",
}
"""Plain names that are not the column's own name with spaces; ``cracks_on_job`` is asked of a quote, in no table."""


_SAYS_CREW = re.compile(r"crew[-\d]", re.IGNORECASE)
_ONE_OF = {"jobs": "job", "cracks": "crack", "callbacks": "call", "rates": "rate", "reviews": "review"}


def one_of(table: str) -> str:
    """What one row of a table is, in the trade's word: ``callbacks`` hold calls."""
    return _ONE_OF[table]


def label(name: str) -> str:
    """A column's name as a person reads it, without its unit: ``resin_litres`` reads ``resin used``."""
    return _LABELS.get(name) or name.replace("_", " ")


def crew_said(crew: str, word: str = "crew") -> str:
    """A crew in a sentence: ``crew C01``; a code that says crew already stands alone."""
    return crew if _SAYS_CREW.match(crew) else f"{word} {crew}"


def unit(column: dy.Column) -> str:
    """The unit of a column; empty where it has none."""
    return str((column.metadata or {}).get("unit") or "")


def blank_means(column: dy.Column) -> str:
    """What a blank cell of a column means; empty where only that nothing is recorded."""
    return str((column.metadata or {}).get("blank") or "")


def limits(column: dy.Column) -> str:
    """What a number must lie between, such as ``over 0 and at most 50 m``; empty for other kinds."""
    low, above, high = (getattr(column, name, None) for name in ("min", "min_exclusive", "max"))
    words = [
        f"at least {low:g}" if low is not None else "",
        f"over {above:g}" if above is not None else "",
        f"at most {high:g}" if high is not None else "",
    ]
    said = " and ".join(word for word in words if word)
    if not said:
        return ""
    return said if isinstance(column, dy.Decimal) else f"{said} {unit(column)}".strip()


def accepted(column: dy.Column) -> str:
    """The words a column takes, or its limits."""
    if isinstance(column.dtype, pl.Enum):
        return ", ".join(column.dtype.categories.to_list())
    return limits(column)
