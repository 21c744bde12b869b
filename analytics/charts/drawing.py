"""The crack drawing as SVG: the wall in elevation, to scale, with the crack and its ports, and a section beside it.

What is not recorded (height on the wall, the angle of a diagonal) is said in words on the drawing.
"""

from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from analytics.charts import svg
from analytics.charts.crack_line import CrackLine, Direction, extent
from analytics.charts.section import wall_section
from analytics.charts.svg import Point
from analytics.contract import words
from analytics.contract.references import reference

WIDTH_PX = 338
MM_PER_M = 1000
VOID_DIGITS = 2
"""Of the void's litres, on the drawing and wherever they stand beside it."""
LEAST_WALL_M = 0.8
"""A short crack is drawn on at least this much of the wall, so that it looks short."""
PORT_PX, LEAST_PORT_PX, LEAST_PITCH_PX, BRACKET_PITCH_PX = 4.2, 2.0, 5.0, 15.0
_LENGTH_AWAY = {"vertical": 110.0, "diagonal": -34.0, "horizontal": 36.0}
"""Where the length's dimension line stands, px to the right of (below) the crack; the ports' stands opposite."""
_UP_WHERE_ROOM = 0.75
"""How far up a diagonal crack its length is said: beside its middle a long one would be cut off."""
BESIDE_PX, CLEAR_PX = 182.0, 240.0
"""How far down a vertical crack's length is said: between the section and the notes, under them where it is short."""
_UNRECORDED: dict[Direction, str] = {
    "horizontal": "its height on the wall is not recorded",
    "diagonal": "its angle is not recorded: drawn at 45°",
}


@dataclass(frozen=True)
class Crack:
    """What is drawn; ``ports_mm`` are distances along the crack from its lowest end, the first port lowest.

    None where not measured.
    """

    direction: Direction
    length_m: float
    ports_mm: tuple[float, ...] = ()
    wall_thickness_mm: float | None = None
    width_mm: float | None = None
    void_litres: float | None = None


class _Sheet(NamedTuple):
    """Where things stand, px: the patch of wall, the crack's most across and up, the section and the notes."""

    height: float
    wall: Point
    wall_size: Point
    room: Point
    section: Point
    section_height: float
    notes: Point
    notes_end: bool


_TALL = _Sheet(308, (4, 8), (196, 236), (132, 214), (276, 8), 120, (WIDTH_PX - 4, 206), notes_end=True)
_WIDE = _Sheet(316, (4, 8), (330, 132), (284, 60), (16, 206), 76, (92, 238), notes_end=False)


def draw_crack(crack: Crack) -> str:
    """The drawing as one SVG element, 338 px wide or less, as the space allows."""
    sheet = _WIDE if crack.direction == "horizontal" else _TALL
    line = _line(crack, sheet)
    thickness = None if crack.wall_thickness_mm is None else _millimetres(crack.wall_thickness_mm)
    parts = [
        svg.rectangle(sheet.wall, *sheet.wall_size, "wall"),
        svg.polyline(line.strip(), "seal", min(28.0, max(8.0, _seal_m() * line.px_per_m))),
        svg.polyline(line.points(), "crack"),
        *_floor(sheet),
        *_ports(crack, line),
        *_length(crack, line),
        *_spacing(crack, line),
        *_beneath(crack, line, sheet),
        *(wall_section(sheet.section, sheet.section_height, thickness) if thickness else []),
        *_notes(crack, sheet),
    ]
    return svg.drawing(parts, width=WIDTH_PX, height=sheet.height, alt=describe_crack(crack))


def describe_crack(crack: Crack) -> str:
    """The drawing in a sentence, its text alternative."""
    said = [f"{crack.direction.capitalize()} crack, {_metres(crack.length_m)} long"]
    said += [_ports_said(crack)] if crack.ports_mm else []
    said += [f"wall {_millimetres(crack.wall_thickness_mm)} thick"] if crack.wall_thickness_mm else []
    return "; ".join([*said, *_measured(crack)]) + "."


def _metres(value: float) -> str:
    return words.size(value, "m", 2)


def _millimetres(value: float) -> str:
    return words.size(value, "mm")


def _seal_m() -> float:
    """Width of the cleaned and sealed strip."""
    return 2 * reference("seal_strip_each_side").number / MM_PER_M


def _line(crack: Crack, sheet: _Sheet) -> CrackLine:
    reach = extent(crack.direction)
    fits = [room / (part * crack.length_m) for room, part in zip(sheet.room, reach, strict=True) if part > 0]
    scale = min(*fits, max(sheet.room) / LEAST_WALL_M)
    left = sheet.wall[0] + (sheet.wall_size[0] - reach[0] * crack.length_m * scale) / 2
    floor = sheet.wall[1] + sheet.wall_size[1]
    start = (left, floor if reach[1] else floor - sheet.wall_size[1] / 2)
    return CrackLine(crack.direction, start, crack.length_m * scale, scale)


def _floor(sheet: _Sheet) -> list[str]:
    left, right = sheet.wall[0], sheet.wall[0] + sheet.wall_size[0]
    level = sheet.wall[1] + sheet.wall_size[1]
    hatch = [svg.polyline([(x, level), (x - 6, level + 7)], "dimension") for x in range(int(left) + 8, int(right), 12)]
    return [*hatch, svg.polyline([(left - 3, level), (right + 3, level)], "floor")]


def _ports(crack: Crack, line: CrackLine) -> list[str]:
    places = [line.at(port / MM_PER_M * line.px_per_m) for port in crack.ports_mm]
    last = len(places) - 1
    if last < 0:
        return []
    pitch = line.length_px / max(1, last)
    radius = min(PORT_PX, max(LEAST_PORT_PX, 0.36 * pitch))
    every = _one_in(crack, line)
    drawn = [place for index, place in enumerate(places) if index % every == 0 or index == last]
    numbers = [_numbered(index, places[index], line) for index in sorted({0, last})]
    return [*(svg.circle(place, radius, "port") for place in drawn), *numbers]


def _numbered(index: int, place: Point, line: CrackLine) -> str:
    number = str(index + 1)
    if line.direction == "horizontal":
        return svg.text((place[0], place[1] + 21), number, "middle", "number")
    if index:
        return svg.text((place[0], place[1] - 9), number, "middle", "number")
    aside = 22 if line.direction == "diagonal" else 12
    return svg.text((place[0] + aside, place[1] - 4), number, "start", "number")


def _one_in(crack: Crack, line: CrackLine) -> int:
    """Ports closer than can be told apart are drawn one in so many."""
    gaps = max(1, len(crack.ports_mm) - 1)
    if line.length_px < LEAST_PITCH_PX:
        return gaps
    return max(1, ceil(LEAST_PITCH_PX * gaps / line.length_px))


def _length(crack: Crack, line: CrackLine) -> list[str]:
    label = _metres(crack.length_m)
    if crack.direction == "stepped":
        return [svg.text((14, 30), f"{label} along the steps")]
    share = _UP_WHERE_ROOM if crack.direction == "diagonal" else 0.5
    [dimension, said] = _dimension(line, 0, line.length_px, _LENGTH_AWAY[crack.direction], label, share)
    if crack.direction == "vertical":
        top = line.start[1] - line.length_px
        left = line.start[0] + _LENGTH_AWAY["vertical"] + 8
        said = svg.text((left, BESIDE_PX if top <= BESIDE_PX else CLEAR_PX), label)
    return [dimension, said]


def _spacing(crack: Crack, line: CrackLine) -> list[str]:
    gap = _gap_mm(crack)
    px = 0.0 if gap is None else gap / MM_PER_M * line.px_per_m
    if gap is None or crack.direction == "stepped" or px < BRACKET_PITCH_PX:
        return []
    lower = crack.ports_mm[(len(crack.ports_mm) - 1) // 2] / MM_PER_M * line.px_per_m
    away = -26 if _LENGTH_AWAY[crack.direction] > 0 else 26
    return _dimension(line, lower, lower + px, away, _millimetres(gap))


def _dimension(
    line: CrackLine, start_px: float, end_px: float, away_px: float, label: str, share: float = 0.5
) -> list[str]:
    """A dimension parallel to the crack, ``away_px`` to the right of (below) it, or left (above) where negative.

    Its words stand beside it, a ``share`` of the way along.
    """
    across, down = line.normal()
    heading = (down, -across)
    ends = [
        (line.start[0] + heading[0] * along + across * away_px, line.start[1] + heading[1] * along + down * away_px)
        for along in (start_px, end_px)
    ]
    side = 1 if away_px > 0 else -1
    along = [first + share * (last - first) for first, last in zip(*ends, strict=True)]
    place = (along[0] + side * across * 8, along[1] + side * down * 13 + 4)
    anchor: svg.Anchor = "middle" if across == 0 else "start" if side > 0 else "end"
    return [svg.dimension(ends[0], ends[1], (across, down)), svg.text(place, label, anchor)]


def _beneath(crack: Crack, line: CrackLine, sheet: _Sheet) -> list[str]:
    said = []
    if crack.ports_mm:
        every = _one_in(crack, line)
        said += [_ports_said(crack), *([f"1 port in {every} is drawn"] if every > 1 else [])]
    if crack.direction in _UNRECORDED:
        said.append(_UNRECORDED[crack.direction])
    floor = sheet.wall[1] + sheet.wall_size[1]
    return [svg.text((sheet.wall[0], floor + 24 + svg.LINE_PX * row), words_) for row, words_ in enumerate(said)]


def _ports_said(crack: Crack) -> str:
    gap, count = _gap_mm(crack), len(crack.ports_mm)
    where = "from one end" if crack.direction == "horizontal" else "lowest first"
    return "1 port" if gap is None else f"{count} ports, {_millimetres(gap)} apart, {where}"


def _gap_mm(crack: Crack) -> float | None:
    return crack.ports_mm[1] - crack.ports_mm[0] if len(crack.ports_mm) > 1 else None


def _measured(crack: Crack) -> list[str]:
    width = "width not measured" if crack.width_mm is None else f"{_millimetres(crack.width_mm)} wide"
    void = [] if crack.void_litres is None else [f"void {words.number(crack.void_litres, VOID_DIGITS, 'L')}"]
    return [*([] if crack.wall_thickness_mm else ["wall not measured"]), width, *void]


def _notes(crack: Crack, sheet: _Sheet) -> list[str]:
    anchor: svg.Anchor = "end" if sheet.notes_end else "start"
    x, y = sheet.notes
    return [svg.text((x, y + svg.LINE_PX * row), note, anchor) for row, note in enumerate(_measured(crack))]
