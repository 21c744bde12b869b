from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.charts.labels import sides, spread

PLACES = st.lists(st.floats(min_value=-100, max_value=100), max_size=8)


@given(PLACES)
def test_spread_places_stand_apart_in_their_order(places: list[float]) -> None:
    moved = spread(places, 5)
    order = sorted(range(len(places)), key=lambda index: places[index])
    assert all(moved[after] - moved[before] >= 5 - 1e-6 for before, after in pairwise(order))


@given(PLACES)
def test_spread_moves_nothing_that_stands_apart(places: list[float]) -> None:
    apart = [index * 300.0 + place for index, place in enumerate(places)]
    assert spread(apart, 5) == pytest.approx(apart)


def test_two_on_one_place_share_the_move() -> None:
    assert spread([1.0, 1.0], 4) == pytest.approx([-1.0, 3.0])


def test_names_go_where_they_cover_nothing() -> None:
    points = [(100.0, 100.0), (112.0, 100.0), (290.0, 20.0)]
    assert sides(points, ["C01", "C02", "C03"], 300) == ["left", "right", "left"]


def test_a_name_stands_right_where_there_is_room() -> None:
    assert sides([(10.0, 10.0)], ["C01"], 300) == ["right"]
