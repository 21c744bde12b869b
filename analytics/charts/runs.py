"""Runs over time, a small picture a crew: leak-backs gathered against expected, and where they pass the limit."""

from datetime import date

import altair as alt
import polars as pl

from analytics.charts.plot import Plot, by_role, in_role, layered, text_layer
from analytics.contract import words

RUN_PX = 150
_MOST_LIMITS = 1.5
"""Runs are cut at so many times the limit: further up only says that the limit was passed."""


def crew_runs(runs: pl.DataFrame) -> tuple[Plot, ...]:
    """A plot a crew of ``runs`` (crew_id, month, height, limit, alarm), all on the same axes, in the order given.

    The height is drawn in limits, so that the line at 1 is every crew's own. Each passing is marked.
    """
    if runs.is_empty():
        return ()
    drawn = runs.with_columns(at=pl.min_horizontal(pl.col("height") / pl.col("limit"), pl.lit(_MOST_LIMITS)))
    months: tuple[date, date] = drawn.select(pl.col("month").min(), pl.col("month").max().alias("last")).row(0)
    return tuple(_panel(part, months) for part in drawn.partition_by("crew_id", maintain_order=True))


def _panel(run: pl.DataFrame, months: tuple[date, date]) -> Plot:
    crew, times = run["crew_id"][0], int(run["alarm"].sum())
    passed = {0: "within its limit", 1: "past its limit once"}.get(times, f"past its limit {words.number(times)} times")
    toned = run.with_columns(tone=pl.when("alarm").then(pl.lit("engineer_review")).otherwise(pl.lit("ink")))
    across, up = _months(months), _heights()
    line = alt.Chart(toned).mark_line(interpolate="step-after", strokeWidth=1.6, clip=True)
    marks = alt.Chart(toned.filter("alarm")).mark_point(filled=True, size=55, opacity=1)
    return layered(
        [
            *_limit(months, across),
            line.encode(x=across, y=up, color=in_role("ink")),
            marks.encode(x=across, y=up, color=by_role()),
        ],
        height_px=RUN_PX,
        title=f"{crew}: {passed}",
    )


def _limit(months: tuple[date, date], across: alt.X) -> list[alt.Chart]:
    ends = pl.DataFrame({"month": list(months), "at": [1.0, 1.0], "label": ["limit", ""]})
    line = alt.Chart(ends).mark_line(strokeWidth=1.3, strokeDash=[5, 4])
    named = text_layer(ends.head(1), align="left", dy=-9)
    muted = in_role("muted")
    return [layer.encode(x=across, y=_heights(), color=muted) for layer in (line, named)]


def _months(months: tuple[date, date]) -> alt.X:
    first, last = (alt.DateTime(year=day.year, month=day.month, date=day.day) for day in months)
    ruled = alt.Axis(grid=False, format="%Y", tickCount="year", title=None)
    return alt.X("month", type="temporal", scale=alt.Scale(domain=[first, last], nice=False), axis=ruled)


def _heights() -> alt.Y:
    return alt.Y(
        "at",
        type="quantitative",
        scale=alt.Scale(domain=[0, _MOST_LIMITS], nice=False),
        axis=alt.Axis(labels=False, grid=False, title=None),
    )
