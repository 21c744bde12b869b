import re
from itertools import pairwise
from math import isfinite
from xml.etree import ElementTree as ET

import pytest

from analytics.charts import drawing, svg
from analytics.charts.crack_line import Direction
from analytics.charts.drawing import WIDTH_PX, Crack, describe_crack, draw_crack
from analytics.contract.references import reference
from analytics.contract.units import displayed
from analytics.takeoff.ports import port_positions_mm

SVG = "{http://www.w3.org/2000/svg}"
CRACKS = [
    Crack(direction, length_m, port_positions_mm(length_m, spacing_mm), thickness, width, void)
    for direction in ("vertical", "diagonal", "horizontal", "stepped")
    for length_m, spacing_mm, thickness, width, void in (
        (0.02, 200, 200.0, 0.3, 0.0012),
        (2.28, 200, 200.0, 0.8, 0.36),
        (50.0, 25, 1500.0, 100.0, 7500.0),
        (1.4, 150, None, None, None),
    )
]
each_crack = pytest.mark.parametrize("crack", CRACKS, ids=lambda crack: f"{crack.direction} {crack.length_m}")


def drawn(crack: Crack) -> ET.Element:
    return ET.fromstring(draw_crack(crack))  # noqa: S314 - our own drawing


def texts(root: ET.Element) -> list[str]:
    return [text.text or "" for text in root.iter(f"{SVG}text")]


def ports(root: ET.Element) -> list[tuple[float, float]]:
    """The ports on the wall, without the one of the section."""
    circles = [circle for circle in root.iter(f"{SVG}circle") if circle.get("class") == "port"]
    return [(float(circle.get("cx", "")), float(circle.get("cy", ""))) for circle in circles]


@each_crack
def test_everything_fits_on_the_sheet(crack: Crack) -> None:
    root = drawn(crack)
    width, height = (float(side) for side in root.get("viewBox", "").split()[2:])
    points = [
        tuple(map(float, pair))
        for path in root.iter(f"{SVG}path")
        for pair in re.findall(r"(-?[\d.]+),(-?[\d.]+)", path.get("d", ""))
    ]
    assert width == WIDTH_PX
    assert all(-4 <= x <= width + 4 and 0 <= y <= height for x, y in [*points, *ports(root)])


@each_crack
def test_words_stay_on_the_sheet(crack: Crack) -> None:
    for text in drawn(crack).iter(f"{SVG}text"):
        reach = 6.4 * len(text.text or "")
        left = (
            float(text.get("x", "")) - {"start": 0, "middle": reach / 2, "end": reach}[text.get("text-anchor", "start")]
        )
        assert left >= -2
        assert left + reach <= WIDTH_PX + 2


def test_ports_stand_at_their_spacing_lowest_first() -> None:
    crack = Crack("vertical", 2.4, port_positions_mm(2.4, 200), None)
    places = ports(drawn(crack))
    assert len(places) == 13
    gaps = [below[1] - above[1] for below, above in pairwise(places)]
    assert gaps == pytest.approx([gaps[0]] * 12, abs=0.11)
    assert gaps[0] > 0


def test_the_drawing_is_to_scale() -> None:
    short, long = (drawn(Crack("vertical", length, (0.0, length * 1000))) for length in (0.2, 0.4))
    reach = [ports(root)[0][1] - ports(root)[-1][1] for root in (short, long)]
    assert reach[1] == pytest.approx(2 * reach[0], abs=0.2)


def test_the_first_and_the_last_port_are_numbered() -> None:
    root = drawn(Crack("vertical", 2.4, port_positions_mm(2.4, 200)))
    numbers = [text.text for text in root.iter(f"{SVG}text") if text.get("class") == "number"]
    assert numbers == ["1", "13"]


def test_ports_too_close_to_draw_are_thinned_and_said_so() -> None:
    root = drawn(Crack("horizontal", 50.0, port_positions_mm(50.0, 200)))
    assert "1 port in 5 is drawn" in texts(root)
    assert len(ports(root)) == 51


@pytest.mark.parametrize("length_m", [2.2e-311, 1e-9, 1e-3])
def test_a_crack_as_short_as_the_contract_takes_is_drawn(length_m: float) -> None:
    found = ports(drawn(Crack("vertical", length_m, port_positions_mm(length_m, 200))))
    assert 1 <= len(found) <= 2
    assert all(isfinite(x) and isfinite(y) for x, y in found)


def test_every_dimension_is_labelled_in_the_readers_units() -> None:
    crack = Crack("vertical", 2.28, port_positions_mm(2.28, 200), 200, 0.8, 0.36)
    assert {"2.28\u202fm", "190\u202fmm", "200\u202fmm"} <= set(texts(drawn(crack)))
    with displayed("us"):
        said = {"7\u202fft\u00a05\u00a03/4\u202fin", "7\u00a01/2\u202fin", "7\u00a07/8\u202fin", "0.0315\u202fin wide"}
        assert said <= set(texts(drawn(crack)))


def test_the_strip_is_as_wide_to_scale_as_the_seal_is_counted() -> None:
    crack = Crack("vertical", 2.28, port_positions_mm(2.28, 200))
    root = drawn(crack)
    [wide] = [float(path.get("stroke-width", "")) for path in root.iter(f"{SVG}path") if path.get("class") == "seal"]
    (_, low), *_, (_, high) = ports(root)
    metre = (low - high) / crack.length_m
    assert wide == pytest.approx(2 * reference("seal_strip_each_side").number / 1000 * metre, abs=0.06)


LETTER_PX = 6.6
"""Over the width of a letter or figure at the drawing's size."""


@pytest.mark.parametrize("direction", ["vertical", "diagonal", "horizontal"])
@pytest.mark.parametrize("length_m", [0.05, 0.35, 0.6, 1.2, 2.4, 3.69, 15.14])
def test_a_long_measure_is_not_cut_off_and_lies_over_nothing(direction: Direction, length_m: float) -> None:
    with displayed("us"):
        root = drawn(Crack(direction, length_m, port_positions_mm(length_m, 285), 300, 0.95, 0.27))
    boxes = [_box(text) for text in root.iter(f"{SVG}text")]
    lines = [_ends(path) for path in root.iter(f"{SVG}path") if path.get("class") == "dimension"]
    across = [
        (left, right, down) for (left, down), (right, other) in lines if down == other and right - left > LETTER_PX
    ]
    said = [box for box in boxes if box[3].endswith("in")]
    assert len(said) >= 2
    for left, right, down, words in said:
        assert left >= 0, words
        assert right <= WIDTH_PX + LETTER_PX, words
        others = [box for box in boxes if box[3] != words and box[0] < right and left < box[1]]
        assert all(abs(box[2] - down) >= svg.TEXT_PX - 1 for box in others), words
        crossed = [line for line in across if line[0] < right and left < line[1]]
        assert not [line for line in crossed if down - svg.TEXT_PX < line[2] < down + 2], words


def _box(text: ET.Element) -> tuple[float, float, float, str]:
    """Left, right, baseline and words."""
    words, at = text.text or "", float(text.get("x", ""))
    wide = LETTER_PX * len(words)
    left = {"start": at, "middle": at - wide / 2, "end": at - wide}[text.get("text-anchor", "")]
    return left, left + wide, float(text.get("y", "")), words


def _ends(path: ET.Element) -> list[tuple[float, float]]:
    """The first and the last point of a line, the left one first."""
    points = [tuple(map(float, point.split(","))) for point in path.get("d", "").removeprefix("M").split("L")]
    return sorted((x, y) for x, y in (points[0], points[-1]))


@pytest.mark.parametrize(
    ("direction", "said"),
    [("horizontal", "its height on the wall is not recorded"), ("diagonal", "its angle is not recorded: drawn at 45°")],
)
def test_what_is_not_recorded_is_said(direction: str, said: str) -> None:
    crack = next(crack for crack in CRACKS if crack.direction == direction)
    assert said in texts(drawn(crack))


def test_what_was_not_measured_is_said_not_drawn() -> None:
    root = drawn(Crack("vertical", 1.0, port_positions_mm(1.0, 200)))
    assert {"wall not measured", "width not measured"} <= set(texts(root))
    assert not [path for path in root.iter(f"{SVG}path") if path.get("class") == "void"]


def test_its_text_alternative_says_it() -> None:
    crack = Crack("vertical", 2.28, port_positions_mm(2.28, 200), 200, 0.8, 0.36)
    said = describe_crack(crack).replace("\u202f", " ")
    assert said == (
        "Vertical crack, 2.28 m long; 13 ports, 190 mm apart, lowest first; "
        "wall 200 mm thick; 0.8 mm wide; void 0.36 L."
    )
    assert drawn(crack).get("aria-label", "").replace("\u202f", " ") == said


def test_words_are_escaped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing, "_metres", lambda _: "<b>&")
    assert "<b>" not in draw_crack(CRACKS[0])
    assert any("<b>&" in text for text in texts(drawn(CRACKS[0])))
