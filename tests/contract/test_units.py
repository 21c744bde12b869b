"""The reader's units: exact factors, and only where a figure is written."""

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.contract import units, words
from analytics.contract.policy import Policy, read_policy
from analytics.errors import UnknownNameError

FOOT_M = 0.3048  # exact: NIST Special Publication 811 (2008), Appendix B.8, international foot
INCH_MM = 25.4  # exact: same source
GALLON_L = 231 * 0.254**3  # 231 cubic inches, exact: NIST Handbook 44, Appendix C

EXACT = [
    ("m", "ft", 1 / FOOT_M),
    ("mm", "in", 1 / INCH_MM),
    ("L", "gal", 1 / GALLON_L),
    ("L/m", "gal/ft", FOOT_M / GALLON_L),
    ("min/m", "min/ft", FOOT_M),
    ("USD/m", "USD/ft", FOOT_M),
    ("kPa", "psi", 1 / 6.894757),  # NIST SP 811, Appendix B.8: pound-force per square inch, seven figures
]


@pytest.mark.parametrize(("unit", "shown", "factor"), EXACT)
def test_factors_are_the_published_ones(unit: str, shown: str, factor: float) -> None:
    with units.displayed("us"):
        assert units.shown(1.0, unit) == pytest.approx(factor, rel=1e-7)
        assert units.shown_unit(unit) == shown


def test_a_metre_is_3_28084_feet() -> None:
    with units.displayed("us"):
        assert words.number(1.0, 5, "m") == "3.28084\u202fft"


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(-40, -40), (0, 32), (10, 50), (60, 140)])
def test_temperatures_have_another_zero(celsius: float, fahrenheit: float) -> None:
    # by definition: t/°F = 9/5 t/°C + 32 (NIST SP 811, Appendix B.8)
    with units.displayed("us"):
        assert units.shown(celsius, "°C") == pytest.approx(fahrenheit)


def test_metric_is_left_as_it_is() -> None:
    for unit, _, _ in EXACT:
        assert units.shown(1.5, unit) == 1.5
        assert units.shown_unit(unit) == unit
    assert words.estimate(0.63, 0.47, 0.86, 2, "L/m") == "0.63\u202fL/m (0.47 to 0.86)"


def test_money_time_and_shares_have_no_other_unit() -> None:
    with units.displayed("us"):
        for unit in ("USD", "min", "%", "×", "h", "person-hours", ""):
            assert units.conversion(unit) is None
            assert units.shown(7, unit) == 7


def test_an_estimate_moves_as_a_whole_and_keeps_its_figures() -> None:
    with units.displayed("us"):
        assert words.estimate(0.63, 0.47, 0.86, 2, "L/m") == "0.0507\u202fgal/ft (0.0378 to 0.0692)"
        assert words.estimate(2.0, 1.0, 3.0, 1, "m") == "6.6\u202fft (3.3 to 9.8)"
        assert words.quantity(200, "mm") == "7.87\u202fin"
        assert words.number(None, 1, "m") == words.DASH


ON_A_TAPE = [
    (8, "8 in"),
    (7.874, "7 7/8 in"),  # 200 mm
    (11.18, "11 3/16 in"),
    (11.99, "12 in"),
    (1 / 8, "1/8 in"),
    (1 / 16, "1/16 in"),
    (3 / 32, "3/32 in"),
    (1 / 64, "1/64 in"),
    (0, "0 in"),
    (0.0374, "0.0374 in"),  # no such fraction: a crack's width is not rounded to one
    (0.126, "0.126 in"),  # 3.2 mm
    (0.03, "0.03 in"),
]


@pytest.mark.parametrize(("inches", "said"), ON_A_TAPE)
def test_inches_are_said_as_a_tape_shows_them(inches: float, said: str) -> None:
    with units.displayed("us"):
        assert words.size(inches * INCH_MM, "mm").replace("\u202f", " ").replace(units.NO_BREAK, " ") == said


@pytest.mark.parametrize(
    ("feet", "said"), [(8, "8 ft"), (8.5, "8 ft 6 in"), (4.66, "4 ft 7 15/16 in"), (0.5, "6 in"), (11.9999, "12 ft")]
)
def test_a_length_in_feet_is_said_as_a_tape_shows_it(feet: float, said: str) -> None:
    with units.displayed("us"):
        assert words.size(feet * FOOT_M, "m", 2).replace("\u202f", " ").replace(units.NO_BREAK, " ") == said


def test_what_stands_before_a_fraction_is_not_read_as_part_of_it() -> None:
    with units.displayed("us"):
        assert words.size(200, "mm") == "7\u00a07/8\u202fin"


@given(st.floats(min_value=INCH_MM, max_value=50_000))
def test_a_size_over_an_inch_is_within_half_a_sixteenth(millimetres: float) -> None:
    with units.displayed("us"):
        said = words.size(millimetres, "mm").removesuffix("\u202fin")
    inches = sum(Fraction(part) for part in said.split(units.NO_BREAK))
    assert abs(float(inches) - millimetres / INCH_MM) <= 1 / 32 + 1e-9


def test_a_size_is_metric_where_the_reader_is() -> None:
    assert words.size(2.4, "m", 2) == "2.40\u202fm"
    assert words.size(200, "mm") == "200\u202fmm"
    with units.displayed("us"):
        assert words.size(None, "mm") == words.DASH
        assert units.on_a_tape(1.0, "L") == ""


def test_it_holds_only_within() -> None:
    with units.displayed("us"):
        with units.displayed("metric"):
            assert units.shown_unit("m") == "m"
        assert units.shown_unit("m") == "ft"
    assert units.shown_unit("m") == "m"


IN_TEXT = [
    ("0.3 to 1 mm", "0.0118 to 0.0394\u202fin"),
    ("5 mm and over", "0.197\u202fin and over"),
    ("a crack 2.44 m long", "a crack 8.01\u202fft long"),
    ("0.208 L of void", "0.0549\u202fgal of void"),
    ("offset 3.2 mm (1/8 in)", "offset 3.2 mm (1/8 in)"),  # both are said already
    ("class B from 4 to 15 °C", "class B from 4 to 15 °C"),  # the editions of ASTM C881 do not convert
    ("the wall is at 3.889 °C, under 10 °C (50 °F)", "the wall is at 39\u202f°F (3.889 °C), under 10 °C (50 °F)"),
    ("for a wall at -1.111 °C: class A under 4 °C", "for a wall at 30\u202f°F (-1.111 °C): class A under 4 °C"),
    ("resin per metre", "resin per foot"),
    ("24 months, 12 min, J-12 M", "24 months, 12 min, J-12 M"),
]


@pytest.mark.parametrize(("said", "shown"), IN_TEXT)
def test_words_made_before_the_reader_was_known(said: str, shown: str) -> None:
    assert words.text(said) == said
    with units.displayed("us"):
        assert words.text(said) == shown


def test_the_policy_chooses_once(tmp_path: Path) -> None:
    assert Policy().display == "metric"
    file = tmp_path / "policy.toml"
    file.write_text('display = "us"\n')
    assert read_policy(file).display == "us"
    file.write_text('display = "imperial"\n')
    with pytest.raises(UnknownNameError, match=r"unknown display in policy\.toml 'imperial'"):
        read_policy(file)
