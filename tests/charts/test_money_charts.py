"""The charts of money: every field is in its data, zero is on the axis, and amounts are in the reader's units."""

from datetime import date

import polars as pl
import pytest

from analytics.charts.plot import Plot
from analytics.charts.price_dots import price_dots
from analytics.charts.quarters import quarter_dots
from analytics.charts.win_curve import win_curve_plot
from analytics.contract import units
from tests.charts.test_plots import views

PRICES = pl.DataFrame(
    {
        "label": ["epoxy, dry: 200 USD/m", "epoxy, running: –"],
        "floor": [140.0, 190.0],
        "floor_low": [137.0, 168.0],
        "floor_high": [144.0, 225.0],
        "target": [228.0, None],
        "charged": [199.0, None],
    },
    schema_overrides={"target": pl.Float64, "charged": pl.Float64},
)
QUARTERS = pl.DataFrame(
    {"from": [date(2026, 11, 1), date(2027, 1, 1)], "value": [21.4, 28.7], "low": [14.0, 20.0], "high": [29.0, 38.0]}
)
CURVE = pl.DataFrame({"ratio": [0.7, 1.1], "value": [0.87, 0.71], "low": [0.86, 0.67], "high": [0.89, 0.75]})


def plots() -> dict[str, Plot]:
    drawn = {
        "prices": price_dots(PRICES, unit="USD/m"),
        "quarters": quarter_dots(QUARTERS, title="leak-backs"),
        "wins": win_curve_plot(CURVE),
    }
    return {name: plot for name, plot in drawn.items() if plot is not None}


@pytest.mark.parametrize("name", ["prices", "quarters", "wins"])
def test_every_field_is_in_its_data(name: str) -> None:
    spec = plots()[name].to_dict()
    seen = 0
    for view, data in views(spec):
        rows = spec["datasets"][data["name"]]
        for channel in view["encoding"].values():
            if "field" in channel:
                seen += 1
                assert channel["field"] in rows[0]
    assert seen


def values(plot: Plot, column: str) -> list[float]:
    spec = plot.to_dict()
    return sorted({row[column] for rows in spec["datasets"].values() for row in rows if row.get(column) is not None})


def test_prices_are_drawn_in_the_readers_units() -> None:
    metric = plots()["prices"]
    with units.displayed("us"):
        us = plots()["prices"]
    assert values(metric, "charged") == [199.0]
    assert values(us, "charged") == pytest.approx([199 * 0.3048])  # a foot is 0.3048 m exactly (NIST SP 811)
    assert "USD/ft" in us.to_json()
    assert "USD/m" not in us.to_json().replace("epoxy, dry: 200 USD/m", "")


@pytest.mark.parametrize("name", ["prices", "quarters", "wins"])
def test_amounts_begin_at_zero(name: str) -> None:
    spec = plots()[name].to_dict()
    domains = [
        channel["scale"]["domain"]
        for view, _ in views(spec)
        for channel in view["encoding"].values()
        if isinstance(channel.get("scale"), dict) and "domain" in channel["scale"] and channel.get("field") != "tone"
    ]
    assert any(domain[0] == 0 for domain in domains)


def test_nothing_to_draw_is_no_chart() -> None:
    assert price_dots(PRICES.clear(), unit="USD/m") is None
    assert quarter_dots(QUARTERS.clear(), title="") is None
    assert win_curve_plot(CURVE.clear()) is None


def test_the_stroke_of_the_target_keeps_clear_of_the_words_above_it() -> None:
    marks = [view["mark"] for view, _ in views(plots()["prices"].to_dict())]
    [tick] = [mark for mark in marks if mark["type"] == "tick"]
    [text] = [mark for mark in marks if mark["type"] == "text"]
    assert tick["size"] / 2 < -text["dy"] - text["fontSize"] / 2
