"""An engineer's decision holds for what was measured when it was made: what is measured otherwise."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from analytics.contract.descriptions import label, unit
from analytics.contract.rules import figure
from analytics.contract.tables import TABLES
from analytics.contract.words import full_day

RESTS_ON = ("direction", "width_mm", "offset_mm", "length_m", "movement", "water")
"""The measurements that a decision rests on, by column."""


def measured_since(changed: pl.DataFrame) -> dict[str, str]:
    """What changed since the engineer decided, in words, by crack; ``changed`` is the frame ``measured_since``."""
    return {row["crack_id"]: _said(row) for row in changed.iter_rows(named=True)}


def measured_otherwise(cracks: pl.DataFrame, referred: pl.DataFrame) -> dict[str, str]:
    """What of these decided cracks is measured otherwise than recorded, in words, by crack.

    ``cracks`` as in the frame ``planned_cracks``; ``referred`` is the frame ``referred_cracks``.
    """
    decided = cracks.filter(pl.col("decision").is_not_null()).select("crack_id", *RESTS_ON)
    both = decided.join(referred.select("crack_id", *(f"was_{name}" for name in RESTS_ON)), on="crack_id")
    moved = pl.any_horizontal(pl.col(name).ne_missing(pl.col(f"was_{name}")) for name in RESTS_ON)
    return {row["crack_id"]: _said(row) for row in both.filter(moved).iter_rows(named=True)}


def _said(row: Mapping[str, Any]) -> str:
    moved = [name for name in RESTS_ON if row[name] != row[f"was_{name}"]]
    said = [f"{label(name)} {_value(name, row[f'was_{name}'])}, now {_value(name, row[name])}" for name in moved]
    since = f" (since {full_day(row['changed_on'])})" if "changed_on" in row else ""
    return f"{'; '.join(said)}{since}"


def _value(name: str, value: object) -> str:
    if value is None:
        return "not recorded"
    if isinstance(value, int | float):
        return f"{figure(value)} {unit(TABLES['cracks'].columns()[name])}"
    return str(value)
