"""What every chart shares: the type pages hold, paint by role, text, and one configuration.

A chart names roles of the palette, never a colour: the theme it is shown under paints them, so one chart serves
light, dark and paper. Axis text reads the same scale through an expression.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any, Literal, TypeVar
from zlib import crc32

import altair as alt
import polars as pl

from analytics.charts import palette
from analytics.charts.svg import TEXT_PX
from analytics.contract.words import THIN

Plot = alt.LayerChart
"""A finished chart, as a page holds it."""
_Part = TypeVar("_Part", alt.Chart, alt.LayerChart)
Align = Literal["left", "center", "right"]

PICK = "pick"
HALO_PX = 5
THUMB_PX2 = 900
"""Area of what can be clicked around a dot: 30 px across."""


def layered(layers: Sequence[alt.Chart], *, height_px: int, title: str = "") -> Plot:
    """Layers as one chart of the whole ``height_px``, labels and axes included, at whatever width it is given."""
    # Given all at once: each step of a chain would copy every layer, again and again.
    made: Plot = alt.LayerChart(
        layer=list(layers),
        height=height_px,
        autosize=alt.AutoSizeParams(type="fit", contains="padding"),
        title=alt.TitleParams(title) if title else alt.Undefined,
        config=_config(),
    )
    return made


@cache
def _config() -> alt.Config:
    muted, line = _in_scale("muted"), _in_scale("line")
    return alt.Config(
        background="transparent",
        mark=alt.MarkConfig(aria=False, tooltip=None),
        view=alt.ViewConfig(stroke=None),
        title=alt.TitleConfig(
            anchor="start", frame="group", offset=14, fontSize=15, fontWeight=600, color=_in_scale("ink")
        ),
        axis=alt.AxisConfig(
            domain=False,
            ticks=False,
            domainColor=line,
            gridColor=line,
            labelColor=muted,
            labelFontSize=TEXT_PX,
            labelPadding=8,
            labelLimit=0,
            labelFlush=False,
            titleColor=muted,
            titleFontSize=TEXT_PX,
            titleFontWeight="normal",
        ),
        axisX=alt.AxisConfig(titlePadding=10),
        axisY=alt.AxisConfig(titleAngle=0, titleAlign="left", titleAnchor="start", titleX=-36, titleY=-18),
    )


def left_edge() -> alt.XValue:
    """The left edge of a chart, whatever its scale."""
    return alt.XValue(0)  # type: ignore[no-untyped-call]


def picking(plot: Plot, columns: Sequence[str]) -> Plot:
    """The plot with a selection, ``PICK``, of what a clicked dot has in ``columns``; a plot without dots as it is.

    Over each dot lies a wider one that is not seen, so that a thumb finds it.
    """
    found = dots(plot)
    if not found:
        return plot
    pick = alt.selection_point(name=PICK, fields=list(columns))
    wide = found[0].mark_point(filled=True, opacity=0, cursor="pointer").encode(size=alt.value(THUMB_PX2))
    return _whole(plot, [*plot.layer, wide.add_params(pick)])


def dots(plot: Plot) -> list[alt.Chart]:
    """The layers of dots, which take a click; none where too little is known to draw one."""
    layers = (layer for layer in plot.layer if isinstance(layer, alt.Chart))
    return [layer for layer in layers if getattr(layer.mark, "type", layer.mark) == "point"]


def as_spec(plot: Plot) -> dict[str, Any]:
    """The plot in Vega-Lite's words, its frames beside it under ``datasets``, each named by what it holds.

    Not held against Vega-Lite's schema, which takes longer than all the rest; the tests of charts do that. Each layer
    is put into words on its own: a chart made of layers copies all of them, deeply, whenever it is copied.
    """
    frames: dict[str, pl.DataFrame] = {}

    def beside(part: _Part) -> _Part:
        copied = part.copy(deep=False)
        if isinstance(part.data, pl.DataFrame):
            name = f"rows-{part.data.hash_rows().sum()}-{part.data.height}-{crc32(repr(part.data.columns).encode())}"
            frames[name] = part.data
            copied.data = alt.NamedData(name=name)
        return copied

    whole = beside(_whole(plot, []))
    within = {"top_level": False, "data": whole.data}
    layers = (beside(layer) for layer in plot.layer if isinstance(layer, alt.Chart))
    spec = whole.to_dict(validate=False)
    return {**spec, "layer": [layer.to_dict(validate=False, context=within) for layer in layers], "datasets": frames}


def _whole(plot: Plot, layers: Sequence[Any]) -> Plot:
    """The plot with other layers."""
    said = {name: plot[name] for name in ("data", "params", "height", "autosize", "title", "config")}
    return Plot(layer=list(layers), **{name: value for name, value in said.items() if value is not alt.Undefined})


def painted(plot: Plot, mode: palette.Mode, *, width_px: int) -> Plot:
    """The plot with the palette's own colours and a fixed width, for where no theme paints it: paper, a file."""
    fixed: Plot = plot.properties(width=width_px).configure_range(category=palette.series_colours(mode))
    return fixed


def by_role() -> alt.Color:
    """Colour by the column ``tone``, which names a role of the palette."""
    return alt.Color("tone", type="nominal", scale=_scale(), legend=None)


def in_role(role: str) -> alt.ColorDatum:
    """One role for the whole layer; the scale comes from a layer painted ``by_role``, which every chart has."""
    return alt.ColorDatum(role, type="nominal")


def text_layer(
    frame: pl.DataFrame,
    text: str = "label",
    *,
    align: Align = "center",
    dx: float = 0,
    dy: float = 0,
    bold: bool = False,
) -> alt.Chart:
    """Text marks of column ``text``, moved by ``dx`` and ``dy`` px; the caller places and paints them."""
    marks = alt.Chart(frame).mark_text(
        align=align, dx=dx, dy=dy, fontSize=TEXT_PX, fontWeight=600 if bold else 400, baseline="middle", limit=0
    )
    layer: alt.Chart = marks.encode(text=alt.Text(text, type="nominal"))
    return layer


def halo(text: alt.Chart) -> alt.Chart:
    """The ground of a text: itself in the page's own colour, a little wider, so that no line runs through its letters.

    A layer to lie over the lines and under the dots.
    """
    made: alt.Chart = text.encode(color=in_role("page"))
    made.mark = alt.MarkDef(
        **{**made.mark.to_dict(), "stroke": _in_scale("page"), "strokeWidth": HALO_PX, "strokeJoin": "round"}
    )
    return made


def with_labels(frame: pl.DataFrame, say: Callable[[Mapping[str, Any]], str], name: str = "label") -> pl.DataFrame:
    """``frame`` with a column of what ``say`` makes of each row."""
    return frame.with_columns(pl.Series(name, [say(row) for row in frame.iter_rows(named=True)], dtype=pl.String))


def percent_label() -> str:
    """An axis label's expression for a share."""
    return f"format(datum.value * 100, '~f') + '{THIN}%'"


def unit_label(unit: str) -> str:
    """An axis label's expression for a number in ``unit``."""
    return f"datum.label + '{THIN + unit if unit else ''}'"


def _in_scale(role: str) -> alt.ExprRef:
    return alt.ExprRef(f"scale('color', '{role}')")


def _scale() -> alt.Scale:
    return alt.Scale(domain=list(palette.SERIES), range="category")
