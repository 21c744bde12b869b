"""Every chart of the package: its fields are in its data, its colours are roles, its axes are as promised."""

import json
import re
from collections.abc import Iterator
from typing import Any

import polars as pl
import pytest

from analytics.charts import palette
from analytics.charts.curves import FEW_WATCHED, leak_back_curves
from analytics.charts.dots import interval_dots, labelled_dots
from analytics.charts.funnel import funnel
from analytics.charts.plot import Plot, painted

AGES = (0, 6, 12, 18, 24, 30, 36)


def curve(group: str, panel: str | None = None, watched: int = 300) -> pl.DataFrame:
    frame = pl.DataFrame(
        {
            "group": group,
            "month": [float(age) for age in AGES],
            "rate": [0.002 * age for age in AGES],
            "low": [0.001 * age for age in AGES],
            "high": [0.003 * age for age in AGES],
            "watched": [max(0, watched - 8 * age) for age in AGES],
        }
    )
    return frame if panel is None else frame.with_columns(panel=pl.lit(panel))


def rates() -> pl.DataFrame:
    return pl.DataFrame(
        {
            "group": ["epoxy", "urethane_foam", "other"],
            "value": [0.08, 0.071, None],
            "low": [0.059, 0.054, None],
            "high": [0.108, 0.093, None],
            "count": [512, 1806, 12],
            "tone": ["epoxy", "urethane_foam", None],
        }
    )


def crews() -> pl.DataFrame:
    return pl.DataFrame(
        {
            "crew_id": ["C01", "C02", "C03"],
            "cracks": [400, 380, 60],
            "observed": [41, 68, 1],
            "expected": [40.0, 33.0, 2.0],
            "ratio": [1.02, 2.06, None],
            "low": [0.8, 1.6, None],
            "high": [1.3, 2.6, None],
            "signal": ["none", "high", "none"],
        }
    )


def limits() -> pl.DataFrame:
    expected = [float(size) for size in range(1, 60)]
    return pl.DataFrame(
        {
            "expected": expected,
            "low_95": [max(0.0, 1 - 2 / size**0.5) for size in expected],
            "high_95": [1 + 2 / size**0.5 for size in expected],
            "low_998": [max(0.0, 1 - 3 / size**0.5) for size in expected],
            "high_998": [1 + 3 / size**0.5 for size in expected],
        }
    )


def plots() -> dict[str, Plot]:
    drawn: dict[str, Plot | None] = {
        "dots": interval_dots(rates()),
        "litres": labelled_dots(rates().with_columns(value=pl.lit(0.63), label=pl.lit("epoxy")), unit="L"),
        "funnel": funnel(crews(), limits()),
    }
    lines = {
        "one group": [curve("all")],
        "resins": [curve("epoxy"), curve("urethane_foam")],
        "few": [curve("epoxy", watched=150)],
        "seasons": [curve("epoxy", "spring"), curve("epoxy", "winter")],
        "branches": [curve("North"), curve("South")],
    }
    for name, frames in lines.items():
        for index, plot in enumerate(leak_back_curves(pl.concat(frames))):
            drawn[f"{name} {index}"] = plot
    return {name: plot for name, plot in drawn.items() if plot is not None}


PLOTS = plots()
each_plot = pytest.mark.parametrize("plot", PLOTS.values(), ids=PLOTS.keys())


def views(spec: dict[str, Any], data: dict[str, Any] | None = None) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    """Each view of a specification with the data it draws, through layers, facets and concatenations."""
    data = spec.get("data", data)
    inner = [*spec.get("layer", []), *spec.get("vconcat", []), *spec.get("hconcat", []), *spec.get("concat", [])]
    for view in [*inner, *([spec["spec"]] if "spec" in spec else [])]:
        yield from views(view, data)
    if "mark" in spec:
        assert data is not None
        yield spec, data


def texts(plot: Plot) -> list[str]:
    spec = plot.to_dict()
    return [
        row[view["encoding"]["text"]["field"]]
        for view, data in views(spec)
        if view["mark"]["type"] == "text"
        for row in spec["datasets"][data["name"]]
    ]


def test_all_charts_are_here() -> None:
    assert len(PLOTS) == 10


@each_plot
def test_every_field_is_in_its_data(plot: Plot) -> None:
    spec = plot.to_dict()
    seen = 0
    for view, data in views(spec):
        rows = spec["datasets"][data["name"]]
        for channel in view["encoding"].values():
            if "field" in channel:
                seen += 1
                assert channel["field"] in rows[0]
    assert seen > 3


@each_plot
def test_colours_are_roles_of_the_palette(plot: Plot) -> None:
    spec = plot.to_dict()
    named = 0
    for view, data in views(spec):
        colour = view["encoding"]["color"]
        roles = (
            [row[colour["field"]] for row in spec["datasets"][data["name"]]] if "field" in colour else [colour["datum"]]
        )
        assert set(roles) <= set(palette.SERIES)
        named += "scale" in colour and colour["scale"]["domain"] == list(palette.SERIES)
    assert named > 0
    assert re.search(r"#[0-9A-Fa-f]{6}\b", json.dumps(spec)) is None


@each_plot
def test_paper_paints_it_in_the_palettes_own_colours(plot: Plot) -> None:
    spec = painted(plot, "dark", width_px=600).to_dict()
    assert spec["config"]["range"]["category"] == palette.series_colours("dark")
    assert spec["config"]["background"] == "transparent"
    assert "range" not in plot.to_dict()["config"]


@each_plot
def test_one_description_not_one_a_mark(plot: Plot) -> None:
    assert plot.to_dict()["config"]["mark"]["aria"] is False


@each_plot
def test_rates_and_counts_start_at_zero(plot: Plot) -> None:
    scales = [
        view["encoding"][axis]["scale"]["domain"]
        for view, _ in views(plot.to_dict())
        for axis in ("x", "y")
        if "axis" in view["encoding"].get(axis, {}) and view["encoding"][axis]["axis"] is not None
    ]
    assert scales
    assert all(domain[0] == 0 for domain in scales)


def test_ages_are_ruled_in_years() -> None:
    spec = PLOTS["resins 0"].to_dict()
    ruled = [
        view["encoding"]["x"]["axis"]["values"] for view, _ in views(spec) if "axis" in view["encoding"].get("x", {})
    ]
    assert ruled
    assert all(values == [0, 12, 24, 36] for values in ruled)


def test_numbers_still_watched_stand_beneath_each_year() -> None:
    said = texts(PLOTS["resins 0"])
    assert said[-4:] == ["300", "204", "108", "12"]
    assert "urethane foam: still watched" in said


def test_a_curve_fades_where_few_are_watched() -> None:
    spec = PLOTS["few 0"].to_dict()
    firm, faded = (
        [(row["month"], row["watched"]) for row in spec["datasets"][data["name"]]]
        for view, data in views(spec)
        if view["mark"]["type"] == "line"
    )
    assert min(watched for _, watched in firm) >= FEW_WATCHED
    assert faded[0] == firm[-1]
    assert all(watched < FEW_WATCHED for _, watched in faded[1:])


def test_groups_that_are_not_resins_get_a_panel_each_on_the_same_axes() -> None:
    frame = pl.concat([curve("North"), curve("South").with_columns(pl.col("rate", "low", "high") * 2)])
    panels = leak_back_curves(frame)
    assert [panel.to_dict()["title"]["text"] for panel in panels] == ["North", "South"]
    tops = {
        view["encoding"]["y"]["scale"]["domain"][1]
        for p in panels
        for view, _ in views(p.to_dict())
        if "scale" in view["encoding"]["y"]
    }
    assert len(tops) == 1


def test_nothing_is_drawn_where_nothing_may_be_said() -> None:
    nothing = curve("epoxy").with_columns(rate=pl.lit(None, pl.Float64))
    assert leak_back_curves(nothing) == ()
    assert interval_dots(rates().clear()) is None
    assert funnel(crews().with_columns(ratio=pl.lit(None, pl.Float64)), limits()) is None


def test_a_row_says_its_count_and_its_interval() -> None:
    said = texts(PLOTS["dots"])
    assert said == [
        "epoxy, 512 cracks: 8.0\u202f% (5.9 to 10.8)",
        "urethane foam, 1\u202f806 cracks: 7.1\u202f% (5.4 to 9.3)",
        "other, 12 cracks: too few to say",
    ]


def test_only_a_signal_is_coloured() -> None:
    spec = PLOTS["funnel"].to_dict()
    points = [data for view, data in views(spec) if view["mark"]["type"] == "point"]
    rows = [row for data in points for row in spec["datasets"][data["name"]]]
    assert [row["tone"] for row in rows] == ["ink", "engineer_review"]


def test_the_funnel_names_every_crew_on_a_ground_that_lies_over_its_lines() -> None:
    assert sorted(texts(PLOTS["funnel"])) == sorted(["C01", "C02: 68 seen, 33 expected"] * 2)
    spec = PLOTS["funnel"].to_dict()
    kinds = [(view["mark"]["type"], view["encoding"]["color"].get("datum")) for view, _ in views(spec)]
    last_line = max(place for place, (kind, _) in enumerate(kinds) if kind in {"line", "rule"})
    grounds = [place for place, kind in enumerate(kinds) if kind == ("text", "page")]
    dots = kinds.index(("point", None))
    names = [place for place, kind in enumerate(kinds) if kind == ("text", None)]
    assert last_line < min(grounds) <= max(grounds) < dots < min(names)
    assert len(grounds) == len(names)


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_a_names_ground_is_the_pages_own_colour(mode: palette.Mode) -> None:
    vl_convert = pytest.importorskip("vl_convert", reason="draws without a browser; not installed")
    drawn = vl_convert.vegalite_to_svg(painted(PLOTS["funnel"], mode, width_px=600).to_json())
    page = palette.COLOURS["page"].on(mode)
    assert len(re.findall(f'<text[^>]*fill="{page}"[^>]*stroke="{page}"', drawn, re.IGNORECASE)) == 2


@each_plot
def test_it_draws(plot: Plot) -> None:
    vl_convert = pytest.importorskip("vl_convert", reason="draws without a browser; not installed")
    drawn = vl_convert.vegalite_to_svg(painted(plot, "light", width_px=600).to_json())
    assert drawn.startswith("<svg")
    assert palette.COLOURS["muted"].light.lower() in drawn.lower()
