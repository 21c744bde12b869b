"""Leak-back curves: the share that has leaked back by each age, its band, and how many are still watched."""

import altair as alt
import polars as pl

from analytics.charts import palette
from analytics.charts.labels import spread
from analytics.charts.plot import (
    Plot,
    by_role,
    in_role,
    layered,
    left_edge,
    percent_label,
    text_layer,
    with_labels,
)
from analytics.charts.svg import LINE_PX
from analytics.contract import words
from analytics.contract.ages import MONTHS_PER_YEAR

FEW_WATCHED = 30
"""Fewer still watched, and the curve fades."""
CURVE_PX = 320
WATCHED_FROM_PX = 62
"""Depth below the zero line at which the numbers still watched begin, clear of the axis and its title."""
_ONE = "one group"


def leak_back_curves(frame: pl.DataFrame) -> tuple[Plot, ...]:
    """Curves of ``frame``: group, month, rate, low, high, watched; and panel where there are small multiples.

    One row a step of the curve, the first at month 0 and, so that the numbers still watched can stand beneath, one
    at each twelfth month. ``rate``, ``low`` and ``high`` are shares, null where nothing may be said. Groups that are
    not resins get a panel each, all on the same axes.
    """
    said = _with_panels(frame.filter(pl.col("rate").is_not_null()))
    if said.is_empty():
        return ()
    limits = _Limits(said)
    return tuple(
        _panel(part, limits, words.word(name) if name != _ONE else "")
        for (name,), part in said.partition_by("panel", as_dict=True, maintain_order=True).items()
    )


class _Limits:
    """The axes that all panels share: ages to the last one, rates from zero to above the bands that are not faded."""

    def __init__(self, frame: pl.DataFrame) -> None:
        last = frame.select(pl.col("month").max()).item()
        firm = pl.when(pl.col("watched") >= FEW_WATCHED).then("high")
        top = frame.select(pl.max_horizontal("rate", firm).max()).item()
        self.months = max(MONTHS_PER_YEAR, float(last))
        self.rate = max(float(top) * 1.08, 0.01)
        self.years = list(range(0, int(self.months) + 1, MONTHS_PER_YEAR))


def _with_panels(frame: pl.DataFrame) -> pl.DataFrame:
    if "panel" in frame.columns:
        return frame
    groups = frame["group"].unique().to_list()
    apart = len(groups) > 1 and not all(group in palette.COLOURS for group in groups)
    return frame.with_columns(panel=pl.col("group") if apart else pl.lit(_ONE))


def _panel(frame: pl.DataFrame, limits: _Limits, title: str) -> Plot:
    drawn = frame.sort("group", "month", maintain_order=True).with_columns(
        tone=pl.col("group").replace_strict({name: name for name in palette.COLOURS}, default="accent"),
        name=words.worded("group"),
        thin=pl.col("watched") < FEW_WATCHED,
    )
    fading = pl.col("thin") | pl.col("thin").shift(-1).over("group").fill_null(value=False)
    groups = drawn["group"].unique(maintain_order=True).to_list()
    layers = [
        *_steps(drawn.filter(~pl.col("thin")), limits, line=1.0, band=0.16),
        *_steps(drawn.filter(fading), limits, line=0.4, band=0.07),
        *([_end_labels(drawn, limits)] if len(groups) > 1 else []),
    ]
    for row, group in enumerate(groups):
        layers += _watched(drawn.filter(pl.col("group") == group), limits, row, named=len(groups) > 1)
    height = CURVE_PX + 2 * LINE_PX * len(groups)
    return layered(layers, height_px=height, title=title)


def _steps(frame: pl.DataFrame, limits: _Limits, *, line: float, band: float) -> list[alt.Chart]:
    if frame.is_empty():
        return []
    base = alt.Chart(frame).encode(x=_months(limits), color=by_role(), detail=alt.Detail("group:N"))
    shade = base.mark_area(interpolate="step-after", opacity=band, line=False, clip=True)
    curve = base.mark_line(interpolate="step-after", opacity=line, strokeWidth=2.2, clip=True)
    return [shade.encode(y=_rates(limits, "low"), y2=alt.Y2("high:Q")), curve.encode(y=_rates(limits, "rate"))]


def _end_labels(frame: pl.DataFrame, limits: _Limits) -> alt.Chart:
    """The groups' names at the right edge, level with the ends of their curves but never over each other."""
    last = frame.group_by("group", maintain_order=True).last()
    gap = limits.rate * LINE_PX / (CURVE_PX - WATCHED_FROM_PX - 20)
    placed = last.with_columns(at=pl.Series(spread(last["rate"].to_list(), gap)))
    named = text_layer(placed, "name", align="left", dx=7, bold=True)
    return named.encode(x=alt.XDatum(limits.months), y=_rates(limits, "at"), color=by_role())


def _watched(frame: pl.DataFrame, limits: _Limits, row: int, *, named: bool) -> list[alt.Chart]:
    years = frame.filter(pl.col("month").is_in([float(year) for year in limits.years]))
    numbers = with_labels(years, lambda row: words.number(row["watched"]))
    first = frame.head(1).with_columns(
        label=pl.format("{} still watched", pl.col("name") + ":" if named else pl.lit("cracks"))
    )
    depth = WATCHED_FROM_PX + 2 * LINE_PX * row
    heading = text_layer(first, align="left", dx=-12).encode(x=left_edge(), y=_below(depth))
    heading = heading.encode(color=by_role() if named else in_role("muted"))
    counts = text_layer(numbers).encode(x=_months(limits), y=_below(depth + LINE_PX), color=in_role("muted"))
    return [heading, counts]


def _below(depth_px: int) -> alt.YValue:
    return alt.YValue(alt.ExprRef(f"height + {depth_px}"))  # type: ignore[no-untyped-call]


def _months(limits: _Limits) -> alt.X:
    ruled = alt.Axis(values=limits.years, grid=False, title="months after the repair")
    return alt.X("month", type="quantitative", scale=alt.Scale(domain=[0, limits.months], nice=False), axis=ruled)


def _rates(limits: _Limits, field: str) -> alt.Y:
    ruled = alt.Axis(grid=True, labelExpr=percent_label(), tickCount=4, title="cracks that leaked back")
    scale = alt.Scale(domain=[0, limits.rate], nice=False, zero=True)
    return alt.Y(field, type="quantitative", scale=scale, axis=ruled)
