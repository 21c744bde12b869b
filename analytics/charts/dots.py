"""Dot and interval, one row a group, everything said in the row's own label above it."""

from collections.abc import Callable, Mapping
from typing import Any, Literal

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

Kind = Literal["percent", "number"]
Row = Mapping[str, Any]
ROW_PX = 48
LABEL_UP_PX = -15
_BELOW_PX = 50


def interval_dots(
    frame: pl.DataFrame,
    *,
    kind: Kind = "percent",
    unit: str = "",
    counted: str = "crack",
    digits: int | None = None,
    reference: tuple[float, str] | None = None,
) -> Plot | None:
    """A dot and its interval for each row of ``frame``: group, value, low, high, count; and tone, a palette role.

    Shares for ``percent``; ``unit`` for a number; a null value gets a label that says it is too few. ``reference``
    is a line across all rows with its words. None where there is no row.
    """
    places = _digits(frame, kind) if digits is None else digits
    say = _said(kind, unit, places)
    labelled = with_labels(frame, lambda row: _label(row, say, counted))
    return labelled_dots(labelled, kind=kind, unit=unit, reference=reference)


def labelled_dots(
    frame: pl.DataFrame, *, kind: Kind, unit: str = "", reference: tuple[float, str] | None = None
) -> Plot | None:
    """Rows of ``frame`` (label, value, low, high; tone) from top to bottom, on an axis from zero.

    ``unit`` is an SI unit; the axis is in the reader's.
    """
    if frame.is_empty():
        return None
    shown = units.shown_columns(frame, ("value", "low", "high"), unit)
    reference = reference and (float(units.shown(reference[0], unit) or 0.0), reference[1])
    unit = units.shown_unit(unit)
    toned = shown if "tone" in shown.columns else shown.with_columns(tone=pl.lit("accent"))
    rows = toned.with_columns(row=pl.int_range(pl.len()).cast(pl.Float64), tone=pl.col("tone").fill_null("accent"))
    known = rows.filter(pl.col("value").is_not_null())
    across, down = _values(rows, kind, unit, reference), rows_down(rows.height)
    layers = [_reference(known, reference[0], across, down)] if reference and known.height else []
    layers += _marks(known, across, down)
    text = text_layer(rows, align="left", dy=LABEL_UP_PX).encode(x=left_edge(), y=down)
    layers.append(text.encode(color=in_role("ink")))
    return layered(layers, height_px=ROW_PX * rows.height + _BELOW_PX)


def _marks(known: pl.DataFrame, across: Callable[[str], alt.X], down: alt.Y) -> list[alt.Chart]:
    if known.is_empty():
        return []
    base = alt.Chart(known).encode(y=down, color=by_role())
    line = base.mark_rule(strokeWidth=3, opacity=0.45, strokeCap="round").encode(x=across("low"), x2=alt.X2("high:Q"))
    return [line, base.mark_point(filled=True, size=90, opacity=1).encode(x=across("value"))]


def _reference(rows: pl.DataFrame, at: float, across: Callable[[str], alt.X], down: alt.Y) -> alt.Chart:
    """The reference through each row's dot, clear of the labels."""
    ends = rows.select(pl.lit(at).alias("at"), pl.col("row") - 0.11, (pl.col("row") + 0.2).alias("foot"))
    line = alt.Chart(ends).mark_rule(strokeDash=[3, 2], strokeWidth=1.3)
    drawn: alt.Chart = line.encode(x=across("at"), y=down, y2=alt.Y2("foot:Q"), color=in_role("muted"))
    return drawn


def _values(rows: pl.DataFrame, kind: Kind, unit: str, reference: tuple[float, str] | None) -> Callable[[str], alt.X]:
    tops = [value for value in rows.select(pl.max_horizontal("value", "high").max()).row(0) if value is not None]
    top = max([*tops, *([reference[0]] if reference else [])], default=1.0)
    label = percent_label() if kind == "percent" else unit_label(unit)
    title = f"dashed: {reference[1]}" if reference else None
    ruled = alt.Axis(grid=False, domain=True, labelExpr=label, tickCount=4, title=title)
    scale = alt.Scale(domain=[0, float(top) * 1.04], nice=True)
    return lambda field: alt.X(field, type="quantitative", scale=scale, axis=ruled)


def rows_down(count: int) -> alt.Y:
    """So many rows from top to bottom, by the column ``row``, each with room for its label above it."""
    scale = alt.Scale(domain=[count - 0.5, -0.75], nice=False, zero=False)
    return alt.Y("row", type="quantitative", scale=scale, axis=None)


def _said(kind: Kind, unit: str, digits: int) -> Callable[[float, float, float], str]:
    if kind == "percent":
        return lambda value, low, high: words.percent_estimate(value, low, high, digits)
    return lambda value, low, high: words.estimate(value, low, high, digits, unit)


def _digits(frame: pl.DataFrame, kind: Kind) -> int:
    return 1 if kind == "percent" else words.digits_for(frame["value"])


def _label(row: Row, say: Callable[[float, float, float], str], counted: str) -> str:
    name = f"{words.word(str(row['group']))}, {words.counted(int(row['count'] or 0), counted)}"
    value, low, high = row["value"], row["low"], row["high"]
    return f"{name}: too few to say" if value is None else f"{name}: {say(value, low, high)}"
