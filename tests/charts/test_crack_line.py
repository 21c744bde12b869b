from itertools import pairwise
from math import dist

import pytest

from analytics.charts.crack_line import WOBBLE_PX, CrackLine, Direction, extent

DIRECTIONS: tuple[Direction, ...] = ("vertical", "diagonal", "horizontal", "stepped")


def line(direction: Direction, length_px: float = 200.0) -> CrackLine:
    return CrackLine(direction, (10.0, 300.0), length_px, 100.0)


@pytest.mark.parametrize("direction", DIRECTIONS)
def test_it_ends_where_its_length_and_direction_say(direction: Direction) -> None:
    right, up = extent(direction)
    assert dist(line(direction).points()[-1], (10 + right * 200, 300 - up * 200)) <= WOBBLE_PX


def test_a_stepped_crack_is_as_long_as_measured_along_its_steps() -> None:
    points = line("stepped", 230.0).points()
    along = sum(dist(one, other) for one, other in pairwise(points))
    assert along == pytest.approx(230.0)
    assert all(one[0] == other[0] or one[1] == other[1] for one, other in pairwise(points))


@pytest.mark.parametrize("direction", ["vertical", "diagonal", "horizontal"])
def test_a_straight_crack_strays_no_further_than_the_wobble(direction: Direction) -> None:
    crack = line(direction)
    across, down = crack.normal()
    away = [abs((x - 10) * across + (y - 300) * down) for x, y in crack.points()]
    assert 0.5 < max(away) <= WOBBLE_PX


def test_the_same_crack_is_drawn_the_same() -> None:
    assert line("diagonal").points() == line("diagonal").points()
