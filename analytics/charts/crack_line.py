"""The line of a crack on the wall in pixels: straight with a steady wobble, or stepped along block joints."""

from dataclasses import dataclass
from math import hypot, sin
from typing import Literal

from analytics.charts.svg import Point

Direction = Literal["vertical", "diagonal", "horizontal", "stepped"]

STEP_M = 0.2
"""Rise and half run of a block course, 8 in by 16 in block (common practice, no source)."""
_DIAGONAL = 0.5**0.5
_HEADINGS: dict[Direction, Point] = {
    "vertical": (0.0, 1.0),
    "diagonal": (_DIAGONAL, _DIAGONAL),
    "horizontal": (1.0, 0.0),
    "stepped": (0.5, 0.5),
}
WOBBLE_PX = 3.0
SAMPLE_PX = 3.0


def extent(direction: Direction) -> Point:
    """How far right and up a crack of length 1 reaches."""
    return _HEADINGS[direction]


@dataclass(frozen=True)
class CrackLine:
    """A crack from its lower (or left) end ``start``, px, ``length_px`` long, y pointing down as on paper."""

    direction: Direction
    start: Point
    length_px: float
    px_per_m: float

    def at(self, along_px: float) -> Point:
        """The point ``along_px`` from the start, measured along the crack."""
        right, up = self._stair(along_px) if self.direction == "stepped" else self._straight(along_px)
        return self.start[0] + right, self.start[1] - up

    def points(self) -> list[Point]:
        """Points close enough together to draw the line."""
        step = STEP_M * self.px_per_m if self.direction == "stepped" else SAMPLE_PX
        count = max(1, int(self.length_px / step))
        inner = [self.at(step * index) for index in range(count)]
        return [*inner, *([self.at(step * count)] if step * count < self.length_px else []), self.at(self.length_px)]

    def strip(self) -> list[Point]:
        """The middle line of the sealed strip, which runs straight where the crack wobbles."""
        if self.direction == "stepped":
            return self.points()
        right, up = _HEADINGS[self.direction]
        return [self.start, (self.start[0] + right * self.length_px, self.start[1] - up * self.length_px)]

    def normal(self) -> Point:
        """Unit vector away from the crack, to its right (below a horizontal one), y down."""
        right, up = _HEADINGS[self.direction]
        size = hypot(right, up)
        return up / size, right / size

    def _straight(self, along_px: float) -> Point:
        heading = _HEADINGS[self.direction]
        reach = min(WOBBLE_PX, 0.05 * self.length_px)
        aside = reach * (0.7 * sin(along_px / 9.1) + 0.3 * sin(along_px / 3.7 + 1.0))
        return heading[0] * along_px - heading[1] * aside, heading[1] * along_px + heading[0] * aside

    def _stair(self, along_px: float) -> Point:
        step = STEP_M * self.px_per_m
        pairs, rest = divmod(along_px, 2 * step)
        return pairs * step + max(0.0, rest - step), pairs * step + min(rest, step)
