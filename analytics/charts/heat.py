"""Numbers in a grid of small squares: the darker, the more there is of what is looked for."""

import altair as alt
import polars as pl

from analytics.charts.plot import Plot, by_role, in_role, layered, text_layer, with_labels
from analytics.contract import words

ROW_PX = 30
TALL_ROW_PX = 46
"""A row of two lines: the number, and what it is counted from."""
_AROUND_PX = 46
_SECOND_LINE_PX = 9
_LEAST_INK, _MOST_INK = 0.03, 0.45
"""Opacity of a square with nothing of it, and with the most: the number in it stays readable."""


def share_grid(frame: pl.DataFrame) -> Plot | None:
    """A square for each row of ``frame``: row and column (names, in the order they come) and share, 0 to 1.

    The number is the share in whole percent, never 100 where something is wanting; what is wanting is dark. None where
    there is no row.
    """
    if frame.is_empty():
        return None
    drawn = with_labels(frame, lambda row: _percent(row["share"])).with_columns(dark=1 - pl.col("share"))
    return _grid(drawn, 1.0)


def rate_grid(frame: pl.DataFrame, title: str) -> Plot | None:
    """A square for each row of ``frame``: row, column (names in the order they come), value (or null) and count.

    The number is the value, the count stands beneath; ``title`` names the columns. None where nothing has a value.
    """
    highest = frame["value"].max()
    if not isinstance(highest, float):
        return None
    drawn = with_labels(frame, lambda row: words.number(row["value"], 1)).with_columns(
        dark=pl.col("value").fill_null(0.0)
    )
    counted = with_labels(drawn, lambda row: words.number(row["count"]), "under")
    return _grid(counted, max(highest, 1e-9), under=True, title=title)


def _grid(drawn: pl.DataFrame, most: float, *, under: bool = False, title: str | None = None) -> Plot:
    drawn = drawn.with_columns(pl.col("column").cast(pl.String), tone=pl.lit("accent"))
    rows, columns = (drawn[name].unique(maintain_order=True).to_list() for name in ("row", "column"))
    down = alt.Y("row", type="nominal", sort=rows, axis=alt.Axis(grid=False, title=None))
    above = alt.Axis(grid=False, orient="top", labelAngle=0, title=title)
    across = alt.X("column", type="nominal", sort=columns, axis=above)
    ink = alt.Opacity("dark", type="quantitative", legend=None)
    ink = ink.scale(domain=[0, most], range=[_LEAST_INK, _MOST_INK])
    squares = alt.Chart(drawn).mark_rect(stroke=None).encode(x=across, y=down, color=by_role(), opacity=ink)
    up = -_SECOND_LINE_PX if under else 0
    layers = [squares, text_layer(drawn, dy=up, bold=under).encode(x=across, y=down, color=in_role("ink"))]
    if under:
        beneath = text_layer(drawn, "under", dy=_SECOND_LINE_PX)
        layers.append(beneath.encode(x=across, y=down, color=in_role("ink")))
    return layered(layers, height_px=(TALL_ROW_PX if under else ROW_PX) * len(rows) + _AROUND_PX + 20 * bool(title))


def _percent(share: float) -> str:
    whole = round(100 * share)
    return str(99 if whole == 100 and share < 1 else 1 if whole == 0 and share > 0 else whole)  # noqa: PLR2004 - percent
