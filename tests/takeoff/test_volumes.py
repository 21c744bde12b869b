"""Volumes of voids and seals."""

from math import inf, nan

import polars as pl
import pytest

from analytics.errors import LeakbackError
from analytics.takeoff.volumes import (
    seal_litres_expr,
    seal_millilitres,
    void_litres,
    void_litres_expr,
    void_millilitres,
)

INCH_MM = 25.4
IN3_ML = 16.387064
GALLON_L = 3.785411784  # NIST Handbook 44, Appendix C


def test_a_through_crack_holds_width_times_wall_in_each_metre() -> None:
    # Arithmetic: 0.3 mm × 200 mm → 60 mL/m.
    assert void_millilitres(0.3, 200, 1) == pytest.approx(60)
    assert void_litres(0.3, 200, 2.5) == pytest.approx(0.15)


@pytest.mark.parametrize(
    ("width_in", "cubic_inches", "litres"),
    [(1 / 8, 96, 1.573158), (0.020, 15.36, 0.251705)],
)
def test_an_eight_foot_crack_in_an_eight_inch_wall(width_in: float, cubic_inches: float, litres: float) -> None:
    # Arithmetic: 1/8 in and 0.020 in × 8 in × 96 in.
    void = void_litres(width_in * INCH_MM, 8 * INCH_MM, 96 * INCH_MM / 1000)
    assert void == pytest.approx(litres, abs=5e-7)
    assert void * 1000 == pytest.approx(cubic_inches * IN3_ML)


def test_the_same_in_us_gallons() -> None:
    # Arithmetic: 96 in³ = 0.415584 gal.
    assert void_litres(INCH_MM / 8, 8 * INCH_MM, 2.4384) / GALLON_L == pytest.approx(0.415584, abs=5e-7)


def test_the_seal_is_six_cubic_inches_a_foot() -> None:
    # Common practice, no source: 4 in × 1/8 in = 6 in³ per foot = 322.6 mL/m.
    assert seal_millilitres(1) == pytest.approx(322.6, abs=0.05)
    assert seal_millilitres(12 * INCH_MM / 1000) == pytest.approx(6 * IN3_ML)


def test_expressions_agree_with_the_scalars_and_keep_what_is_not_known() -> None:
    frame = pl.DataFrame(
        {"width_mm": [0.3, 3.175, None], "wall_thickness_mm": [200.0, 203.2, 200.0], "length_m": [1.0, 2.4384, 3.0]}
    ).select(void=void_litres_expr(), seal=seal_litres_expr())
    assert frame["void"].to_list() == [void_litres(0.3, 200, 1), void_litres(3.175, 203.2, 2.4384), None]
    assert frame["seal"].to_list() == [seal_millilitres(length) / 1000 for length in (1, 2.4384, 3)]


@pytest.mark.parametrize("wrong", [0.0, -1.0, nan, inf])
def test_an_impossible_measurement_is_named(wrong: float) -> None:
    with pytest.raises(LeakbackError, match="width_mm is"):
        void_millilitres(wrong, 200, 1)
    with pytest.raises(LeakbackError, match="wall_mm is"):
        void_litres(0.3, wrong, 1)
    with pytest.raises(LeakbackError, match=r"length_m is .*: it must be a number above 0"):
        seal_millilitres(wrong)
