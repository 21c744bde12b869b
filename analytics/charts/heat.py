"""Shares in a grid of small squares, each with its number: what is wanting is dark, what is whole is bare."""

import altair as alt
import polars as pl

from analytics.charts.plot import Plot, by_role, in_role, layered, text_layer, with_labels

ROW_PX = 30
_AROUND_PX = 46
_LEAST_INK, _MOST_INK = 0.03, 0.45
"""Opacity of a square with nothing wanting, and with everything: the number in it stays readable."""


def share_grid(frame: pl.DataFrame) -> Plot | None:
    """A square for each row of ``frame``: row and column (names, in the order they come) and share, 0 to 1.

    The number is the share in whole percent, never 100 where something is wanting. None where there is no row.
    """
    if frame.is_empty():
        return None
    drawn = with_labels(frame, lambda row: _percent(row["share"])).with_columns(
        wanting=1 - pl.col("share"), tone=pl.lit("accent"), column=pl.col("column").cast(pl.String)
    )
    rows, columns = (drawn[name].unique(maintain_order=True).to_list() for name in ("row", "column"))
    down = alt.Y("row", type="nominal", sort=rows, axis=alt.Axis(grid=False, title=None))
    across = alt.X(
        "column", type="nominal", sort=columns, axis=alt.Axis(grid=False, orient="top", labelAngle=0, title=None)
    )
    ink = alt.Opacity("wanting", type="quantitative", legend=None)
    ink = ink.scale(domain=[0, 1], range=[_LEAST_INK, _MOST_INK])
    squares = alt.Chart(drawn).mark_rect(stroke=None).encode(x=across, y=down, color=by_role(), opacity=ink)
    numbers = text_layer(drawn).encode(x=across, y=down, color=in_role("ink"))
    return layered([squares, numbers], height_px=ROW_PX * len(rows) + _AROUND_PX)


def _percent(share: float) -> str:
    whole = round(100 * share)
    return str(99 if whole == 100 and share < 1 else 1 if whole == 0 and share > 0 else whole)  # noqa: PLR2004 - percent
