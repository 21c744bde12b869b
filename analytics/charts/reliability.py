"""Foreseen against seen: whether cracks of a foreseen chance leak back as often as foreseen."""

import altair as alt
import polars as pl

from analytics.charts.plot import Plot, by_role, in_role, layered, percent_label, text_layer, with_labels
from analytics.contract import words

RELIABILITY_PX = 320
_ABOVE_PX = -10
_ROOM = 1.08


def reliability_curve(bins: pl.DataFrame, *, months: int) -> Plot | None:
    """A point a group of cracks with its interval, over its leak-backs; the line is where what is foreseen is seen.

    ``bins``: foreseen, value, low, high (shares; null where nothing may be said) and leak_backs, a row a group. None
    where no group has a value.
    """
    known = bins.filter(pl.col("value").is_not_null()).with_columns(tone=pl.lit("accent"))
    if known.is_empty():
        return None
    across = float(known.select(pl.col("foreseen").max()).item()) * _ROOM
    up = max(across, float(known.select(pl.col("high").max()).item()) * _ROOM)
    x = alt.X(
        "foreseen",
        type="quantitative",
        scale=alt.Scale(domain=[0, across], nice=False),
        axis=alt.Axis(grid=False, labelExpr=percent_label(), tickCount=5, title=f"foreseen within {months} months"),
    )
    base = alt.Chart(known).encode(x=x, color=by_role())
    rule = base.mark_rule(strokeWidth=3, opacity=0.45, strokeCap="round").encode(
        y=_seen("low", up), y2=alt.Y2("high:Q")
    )
    point = base.mark_point(filled=True, size=90, opacity=1).encode(y=_seen("value", up))
    counted = with_labels(known, lambda row: words.number(row["leak_backs"]))
    counts = text_layer(counted, dy=_ABOVE_PX).encode(x=x, y=_seen("high", up), color=in_role("muted"))
    return layered([_as_foreseen(across, up), rule, point, counts], height_px=RELIABILITY_PX)


def _as_foreseen(across: float, up: float) -> alt.Chart:
    """The line from nought on which seen is foreseen."""
    end = min(across, up)
    ends = pl.DataFrame({"foreseen": [0.0, end], "value": [0.0, end]})
    line: alt.Chart = (
        alt.Chart(ends)
        .mark_line(strokeDash=[3, 2], strokeWidth=1.3)
        .encode(x=alt.X("foreseen:Q"), y=_seen("value", up), color=in_role("muted"))
    )
    return line


def _seen(field: str, up: float) -> alt.Y:
    ruled = alt.Axis(grid=True, labelExpr=percent_label(), tickCount=4, title="seen")
    return alt.Y(field, type="quantitative", scale=alt.Scale(domain=[0, up], nice=False), axis=ruled)
