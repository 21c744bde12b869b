"""How often quotes were won at each price over target, within the prices seen."""

import altair as alt
import polars as pl

from analytics.charts.plot import Plot, by_role, layered, percent_label

WIN_PX = 260


def win_curve_plot(frame: pl.DataFrame) -> Plot | None:
    """The curve of ``frame``: ratio (price over target), value, low, high (shares won). None where there is no row."""
    if frame.is_empty():
        return None
    drawn = frame.with_columns(tone=pl.lit("accent"))
    across = alt.X(
        "ratio",
        type="quantitative",
        scale=alt.Scale(zero=False, nice=False),
        axis=alt.Axis(grid=False, labelExpr=percent_label(), tickCount=6, title="price, of the target"),
    )
    up = alt.Axis(grid=True, labelExpr=percent_label(), tickCount=4, title="quotes won")
    scale = alt.Scale(domain=[0, 1], nice=False)
    base = alt.Chart(drawn).encode(x=across, color=by_role())
    band = base.mark_area(opacity=0.16, line=False)
    line = base.mark_line(strokeWidth=2.2)
    layers = [
        band.encode(y=alt.Y("low", type="quantitative", scale=scale, axis=up), y2=alt.Y2("high:Q")),
        line.encode(y=alt.Y("value", type="quantitative", scale=scale, axis=up)),
    ]
    return layered(layers, height_px=WIN_PX)
