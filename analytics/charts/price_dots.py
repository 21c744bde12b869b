"""What each kind of work was sold for, between the floor it must not go under and the target."""

import altair as alt
import polars as pl

from analytics.charts.dots import LABEL_UP_PX, ROW_PX, rows_down
from analytics.charts.plot import Plot, by_role, in_role, layered, left_edge, text_layer, unit_label
from analytics.contract import units

_BELOW_PX = 78
_TICK_PX = 14


def price_dots(frame: pl.DataFrame, *, unit: str) -> Plot | None:
    """A row a kind of ``frame``: label, floor, floor_low, floor_high, target, charged, money in ``unit``.

    ``unit`` is an SI unit; the axis is in the reader's. The floor is a bar of its interval, the charge a dot, the
    target an upright stroke; null ones are left out. None where there is no row.
    """
    if frame.is_empty():
        return None
    shown = units.shown_columns(frame, ("floor", "floor_low", "floor_high", "target", "charged"), unit)
    unit = units.shown_unit(unit)
    rows = shown.with_columns(row=pl.int_range(pl.len()).cast(pl.Float64))
    down = rows_down(rows.height)
    layers = [
        _floors(rows.filter(pl.col("floor").is_not_null()), down, rows, unit),
        _marks(rows, "target", "ink", "stroke", down, unit),
        _marks(rows, "charged", "accent", "circle", down, unit),
        text_layer(rows, align="left", dy=LABEL_UP_PX).encode(x=left_edge(), y=down, color=in_role("ink")),
    ]
    return layered(layers, height_px=ROW_PX * rows.height + _BELOW_PX)


def _floors(known: pl.DataFrame, down: alt.Y, rows: pl.DataFrame, unit: str) -> alt.Chart:
    bar = alt.Chart(known.with_columns(tone=pl.lit("muted"))).mark_rule(strokeWidth=9, opacity=0.35, strokeCap="round")
    drawn: alt.Chart = bar.encode(
        x=_across("floor_low", rows, unit), x2=alt.X2("floor_high:Q"), y=down, color=by_role()
    )
    return drawn


def _marks(rows: pl.DataFrame, column: str, role: str, shape: str, down: alt.Y, unit: str) -> alt.Chart:
    """One mark a row at the column's value; the stroke is a short upright rule."""
    known = rows.filter(pl.col(column).is_not_null()).with_columns(tone=pl.lit(role))
    chart = alt.Chart(known)
    marked = (
        chart.mark_tick(thickness=2, size=_TICK_PX, orient="vertical", opacity=1)
        if shape == "stroke"
        else chart.mark_point(filled=True, size=95, opacity=1)
    )
    drawn: alt.Chart = marked.encode(x=_across(column, rows, unit), y=down, color=by_role())
    return drawn


def _across(field: str, rows: pl.DataFrame, unit: str) -> alt.X:
    top = rows.select(pl.max_horizontal("floor_high", "target", "charged").max()).item() or 1.0
    target = " · stroke: target" if rows["target"].is_not_null().any() else ""
    title = ["bar: floor with its interval", f"dot: charged{target}, {unit}"]
    ruled = alt.Axis(grid=False, domain=True, labelExpr=unit_label(""), tickCount=4, title=title)
    return alt.X(field, type="quantitative", scale=alt.Scale(domain=[0, float(top) * 1.04], nice=True), axis=ruled)
