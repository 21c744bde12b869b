import re
from xml.etree import ElementTree as ET

import altair as alt
import polars as pl
import pytest

from analytics.charts.drawing import Crack, describe_crack, draw_crack
from analytics.charts.palette import COLOURS
from analytics.charts.plot import by_role, layered
from analytics.pages.page import Chart, Drawing
from analytics.render import pictures


@pytest.fixture
def chart() -> Chart:
    frame = pl.DataFrame({"x": [1.0, 2.0], "tone": ["epoxy", "urethane_foam"]})
    marks = alt.Chart(frame).mark_point(clip=True).encode(x="x:Q", color=by_role())
    return Chart((layered([marks], height_px=80),), "One plot.")


def test_a_chart_is_painted_in_the_palette_and_set_in_the_shipped_font(chart: Chart) -> None:
    svg = pictures.chart_svg(chart)
    assert COLOURS["epoxy"].light in svg
    assert f'font-family="{pictures.FONT}, sans-serif"' in svg
    assert COLOURS["epoxy"].dark in pictures.chart_svg(chart, "dark")


def test_plots_stand_two_in_a_row_and_share_no_id(chart: Chart) -> None:
    wider = chart.plots[0].properties(height=120)
    three = Chart((chart.plots[0], wider, chart.plots[0].properties(title="x")), "Three plots.")
    svg = pictures.chart_svg(three, ground=True)
    root = ET.fromstring(svg)  # noqa: S314 - our own picture
    inner = [each for each in root if each.tag.endswith("svg")]
    assert [float(each.get("x") or 0) > 0 for each in inner] == [False, True, False]
    assert float(inner[2].get("y") or 0) > 120
    ids = re.findall(r' id="([^"]*)"', svg)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]*)\)", svg)) <= set(ids)


def test_the_same_chart_is_the_same_picture(chart: Chart) -> None:
    assert pictures.chart_svg(chart) == pictures.chart_svg(chart)


def test_a_png_is_as_large_as_its_svg_twice_over(chart: Chart) -> None:
    png = pictures.chart_png(chart)
    size = re.match(r'<svg [^>]*width="([\d.]+)"', pictures.chart_svg(chart))
    assert size is not None
    assert int.from_bytes(png[16:20], "big") == 2 * float(size[1])


def test_a_drawing_on_paper_needs_no_style_sheet() -> None:
    crack = Crack("vertical", 2.4, (0.0, 1200.0, 2400.0), 200.0, 0.8)
    part = Drawing(draw_crack(crack), describe_crack(crack))
    painted = pictures.drawing_svg(part.svg)
    assert "var(" not in painted
    assert "light-dark" not in painted
    assert COLOURS["wall"].light in painted
    assert "13 ports" not in painted
    assert "3 ports" in painted
