"""Dot and interval, one row a group, everything said in the row's own label above it."""

from collections.abc import Callable, Mapping
from typing import Any

import altair as alt
import polars as pl

from analytics.charts.plot import (
    Plot,
    by_role,
    in_role,
    layered,
    left_edge,
    percent_label,
    text_layer,
    unit_label,
    with_labels,
)
from analytics.contract import units, words

Row = Mapping[str, Any]
ROW_PX = 48
LABEL_UP_PX = -15
_BELOW_PX = 50


def interval_dots(frame: pl.DataFrame, *, counted: str = "crack") -> Plot | None:
    """A dot and its interval for each row of ``frame``: group, value, low, high, count; and tone, a palette role.

    ``value``, ``low`` and ``high`` are shares; a null value gets a label that says it is too few. None where there is
    no row.
    """
    return labelled_dots(with_labels(frame, lambda row: _label(row, counted)))


def labelled_dots(frame: pl.DataFrame, *, unit: str = "") -> Plot | None:
    """Rows of ``frame`` (label, value, low, high; tone) from top to bottom, on an axis from zero.

    Shares, or with ``unit``, an SI unit, quantities in that; the axis is in the reader's.
    """
    if frame.is_empty():
        return None
    shown = units.shown_columns(frame, ("value", "low", "high"), unit)
    toned = shown if "tone" in shown.columns else shown.with_columns(tone=pl.lit("accent"))
    rows = toned.with_columns(row=pl.int_range(pl.len()).cast(pl.Float64), tone=pl.col("tone").fill_null("accent"))
    known = rows.filter(pl.col("value").is_not_null())
    across, down = _values(rows, units.shown_unit(unit)), rows_down(rows.height)
    layers = _marks(known, across, down)
    text = text_layer(rows, align="left", dy=LABEL_UP_PX).encode(x=left_edge(), y=down)
    layers.append(text.encode(color=in_role("ink")))
    return layered(layers, height_px=ROW_PX * rows.height + _BELOW_PX)


def _marks(known: pl.DataFrame, across: Callable[[str], alt.X], down: alt.Y) -> list[alt.Chart]:
    if known.is_empty():
        return []
    base = alt.Chart(known).encode(y=down, color=by_role())
    line = base.mark_rule(strokeWidth=3, opacity=0.45, strokeCap="round").encode(x=across("low"), x2=alt.X2("high:Q"))
    return [line, base.mark_point(filled=True, size=90, opacity=1).encode(x=across("value"))]


def _values(rows: pl.DataFrame, unit: str) -> Callable[[str], alt.X]:
    tops = [value for value in rows.select(pl.max_horizontal("value", "high").max()).row(0) if value is not None]
    label = unit_label(unit) if unit else percent_label()
    ruled = alt.Axis(grid=False, domain=True, labelExpr=label, tickCount=4, title=None)
    scale = alt.Scale(domain=[0, float(max(tops, default=1.0)) * 1.04], nice=True)
    return lambda field: alt.X(field, type="quantitative", scale=scale, axis=ruled)


def rows_down(count: int) -> alt.Y:
    """So many rows from top to bottom, by the column ``row``, each with room for its label above it."""
    scale = alt.Scale(domain=[count - 0.5, -0.75], nice=False, zero=False)
    return alt.Y("row", type="quantitative", scale=scale, axis=None)


def _label(row: Row, counted: str) -> str:
    name = f"{words.word(str(row['group']))}, {words.counted(int(row['count'] or 0), counted)}"
    value, low, high = row["value"], row["low"], row["high"]
    return f"{name}: too few to say" if value is None else f"{name}: {words.percent_estimate(value, low, high)}"
