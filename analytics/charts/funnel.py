"""A funnel: each crew's leak-backs over expected, against the limits chance alone would keep it in."""

from collections.abc import Mapping
from typing import Any

import altair as alt
import polars as pl

from analytics.charts.labels import AWAY_PX, LABEL_PX, Side, sides
from analytics.charts.plot import Align, Plot, by_role, halo, in_role, layered, text_layer, unit_label, with_labels
from analytics.contract import words

FUNNEL_PX = 340
WIDTH_PX = 300
"""Width at which labels are kept apart: a phone's; on a wider screen the points only move further apart."""
_BESIDE_PX = AWAY_PX + LABEL_PX / 2
_PLACES: dict[Side, tuple[Align, float, float]] = {
    "right": ("left", AWAY_PX, 0),
    "left": ("right", -AWAY_PX, 0),
    "above": ("center", 0, -_BESIDE_PX),
    "below": ("center", 0, _BESIDE_PX),
}


def funnel(crews: pl.DataFrame, limits: pl.DataFrame) -> Plot | None:
    """The funnel of ``crews`` (crew_id, observed, expected, ratio, signal) between ``limits``.

    ``limits``: expected, low_95, high_95, low_998, high_998, a row a point of the lines; and, where crews are let
    differ by more than chance, wide_low_998 and wide_high_998. Every crew is named; only a signal (high or low) is
    coloured and says its counts. None where no crew has a ratio.
    """
    known = crews.filter(pl.col("ratio").is_not_null())
    if known.is_empty():
        return None
    ends = _Ends(known, limits)
    named = with_labels(known, _name).with_columns(
        tone=pl.col("signal").replace_strict({"high": "engineer_review", "low": "accent"}, default="ink"),
        flagged=pl.col("signal").is_in(["high", "low"]),
        size_px=pl.when(pl.col("signal").is_in(["high", "low"])).then(120).otherwise(55),
    )
    named = named.with_columns(side=pl.Series(_sides(named, ends), dtype=pl.String))
    names = _names(named, ends)
    layers = [*_lines(limits, ends), _level(ends), *map(halo, names), _points(named, ends), *names]
    return layered(layers, height_px=FUNNEL_PX)


class _Ends:
    """The axes' far ends: just past the crew with most expected, and the highest ratio or reasonable limit."""

    def __init__(self, crews: pl.DataFrame, limits: pl.DataFrame) -> None:
        self.expected = float(crews.select(pl.col("expected").max()).item()) * 1.06
        smallest = float(crews.select(pl.col("expected").min()).item())
        near = limits.filter(pl.col("expected") >= smallest).select(pl.col("high_95").max()).item()
        highest = float(crews.select(pl.col("ratio").max()).item())
        self.ratio = max(highest * 1.12, float(near or 0), 2.0)


def _name(row: Mapping[str, Any]) -> str:
    if row["signal"] not in ("high", "low"):
        return str(row["crew_id"])
    return f"{row['crew_id']}: {words.number(row['observed'])} seen, {words.number(row['expected'])} expected"


def _sides(named: pl.DataFrame, ends: _Ends) -> list[Side]:
    across, up = WIDTH_PX / ends.expected, (FUNNEL_PX - 80) / ends.ratio
    points = [(x * across, -y * up) for x, y in named.select("expected", "ratio").iter_rows()]
    return sides(points, named["label"].to_list(), width_px=WIDTH_PX)


def _lines(limits: pl.DataFrame, ends: _Ends) -> list[alt.Chart]:
    inside = limits.filter(pl.col("expected") <= ends.expected)
    dashes = {"low_95": [5, 4], "high_95": [5, 4], "low_998": [1, 0], "high_998": [1, 0]}
    dashes |= {name: [1, 4] for name in ("wide_low_998", "wide_high_998") if name in limits.columns}
    return [
        alt.Chart(inside)
        .mark_line(clip=True, strokeWidth=1.3, strokeDash=dash, opacity=0.75)
        .encode(x=_expected(ends), y=_ratio(ends, name), color=in_role("muted"))
        for name, dash in dashes.items()
    ]


def _level(ends: _Ends) -> alt.Chart:
    rule = alt.Chart(pl.DataFrame({"ratio": [1.0]})).mark_rule(strokeWidth=1.2)
    drawn: alt.Chart = rule.encode(y=_ratio(ends, "ratio"), color=in_role("muted"))
    return drawn


def _points(named: pl.DataFrame, ends: _Ends) -> alt.Chart:
    base = alt.Chart(named).encode(x=_expected(ends), y=_ratio(ends, "ratio"), color=by_role())
    drawn: alt.Chart = base.mark_point(filled=True, opacity=1).encode(
        size=alt.Size("size_px", type="quantitative", scale=None)
    )
    return drawn


def _names(named: pl.DataFrame, ends: _Ends) -> list[alt.Chart]:
    layers = []
    for (side, flagged), part in named.partition_by("side", "flagged", as_dict=True, maintain_order=True).items():
        align, dx, dy = _PLACES[side]
        text = text_layer(part, align=align, dx=dx, dy=dy, bold=flagged)
        layers.append(text.encode(x=_expected(ends), y=_ratio(ends, "ratio"), color=by_role()))
    return layers


def _expected(ends: _Ends) -> alt.X:
    ruled = alt.Axis(grid=False, tickCount=5, title="leak-backs expected of their cracks")
    return alt.X("expected", type="quantitative", scale=alt.Scale(domain=[0, ends.expected], nice=False), axis=ruled)


def _ratio(ends: _Ends, field: str) -> alt.Y:
    ruled = alt.Axis(grid=True, labelExpr=unit_label("×"), tickCount=4, title="times what was expected")
    return alt.Y(field, type="quantitative", scale=alt.Scale(domain=[0, ends.ratio], nice=False), axis=ruled)
