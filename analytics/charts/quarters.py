"""What is expected in each coming quarter, with its interval."""

import altair as alt
import polars as pl

from analytics.charts.plot import Plot, by_role, layered

QUARTERS_PX = 280


def quarter_dots(frame: pl.DataFrame, *, title: str) -> Plot | None:
    """A dot and its interval for each row of ``frame``: from (the quarter's first day), value, low, high.

    ``title`` names the values on the axis, which begins at zero. None where there is no row.
    """
    if frame.is_empty():
        return None
    drawn = frame.with_columns(tone=pl.lit("accent"))
    top = drawn.select(pl.max_horizontal("value", "high").max()).item()
    scale = alt.Scale(domain=[0, max(float(top), 1.0)], nice=True)
    up = alt.Axis(grid=True, tickCount=4, title=title)
    along = alt.Axis(grid=False, format="%Y", tickCount="year", title=None)
    base = alt.Chart(drawn).encode(
        x=alt.X("from", type="temporal", scale=alt.Scale(type="utc"), axis=along), color=by_role()
    )
    line = base.mark_rule(strokeWidth=3, opacity=0.45, strokeCap="round")
    dots = base.mark_point(filled=True, size=60, opacity=1)
    layers = [
        line.encode(y=alt.Y("low", type="quantitative", scale=scale, axis=up), y2=alt.Y2("high:Q")),
        dots.encode(y=alt.Y("value", type="quantitative", scale=scale, axis=up)),
    ]
    return layered(layers, height_px=QUARTERS_PX)
