from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.contract import words

T = "\u202f"


@pytest.mark.parametrize(
    ("value", "digits", "unit", "written"),
    [
        (1234567, 0, "", f"1{T}234{T}567"),
        (1234.5, 1, "L", f"1{T}234.5{T}L"),
        (-3.25, 1, "", "\u22123.2"),
        (-0.04, 1, "", "0.0"),
        (Decimal("412.50"), 2, "CAD", f"412.50{T}CAD"),
        (None, 1, "L", "–"),
        (float("nan"), 1, "L", "–"),
    ],
)
def test_number(value: float | Decimal | None, digits: int, unit: str, written: str) -> None:
    assert words.number(value, digits, unit) == written


def test_a_rate_with_its_interval() -> None:
    assert words.percent_estimate(0.071, 0.054, 0.093) == f"7.1{T}% (5.4 to 9.3)"
    assert words.percent_estimate(None, 0.054, 0.093) == "–"
    assert words.percent_estimate(0.071, None, 0.093) == f"7.1{T}%"


def test_an_amount_with_its_interval() -> None:
    assert words.estimate(0.63, 0.47, 0.86, 2, "L") == f"0.63{T}L (0.47 to 0.86)"


@pytest.mark.parametrize(
    ("value", "written"),
    [(0.8, "0.8"), (1200, f"1{T}200"), (142.34, "142"), (2.284, "2.28"), (0.001, "0.001"), (0, "0"), (20.0, "20")],
)
def test_a_quantity_has_three_figures_and_no_idle_zeros(value: float, written: str) -> None:
    assert words.quantity(value) == written


def test_days() -> None:
    assert words.day(date(2026, 11, 9)) == "Mon 9 Nov"
    assert words.full_day(date(2026, 10, 31)) == "31 October 2026"
    assert words.day(None) == "–"


def test_counts() -> None:
    assert words.counted(1, "crack") == "1 crack"
    assert words.counted(1234, "crack") == f"1{T}234 cracks"
    assert words.counted(2, "branch", "branches") == "2 branches"


@pytest.mark.parametrize(
    ("value", "written"), [(True, "yes"), (False, "no"), (None, "–"), (date(2026, 11, 9), "9 November 2026"), (3, "3")]
)
def test_any_value_as_text(value: object, written: str) -> None:
    assert words.text(value) == written


@pytest.mark.parametrize("hidden", ["\x1b", "\u202e", "\u2066", "\x07", "\n", "\x9b"])
def test_text_never_carries_control_or_direction_signs(hidden: str) -> None:
    assert hidden not in words.text(f"J-1{hidden}2")


@pytest.mark.parametrize(
    ("values", "digits"),
    [
        ([1, 20, 300], 0),
        ([0.5, 0.63, 0.86], 2),
        ([1.5, 2.25, 9.1], 1),
        ([12.5, 40.1, 90.9], 0),
        ([None, 3.0], 0),
        ([], 0),
    ],
)
def test_digits_a_column_needs(values: list[float | None], digits: int) -> None:
    assert words.digits_for(values) == digits


@given(st.lists(st.floats(allow_nan=True, allow_infinity=False) | st.none()))
def test_digits_are_always_few(values: list[float | None]) -> None:
    assert 0 <= words.digits_for(values) <= words.MOST_DIGITS


@given(st.floats(min_value=-1e9, max_value=1e9))
def test_a_written_number_reads_back(value: float) -> None:
    written = words.number(value, 2).replace(T, "").replace(words.MINUS, "-")
    assert float(written) == pytest.approx(value, abs=0.0051)


def test_a_chance_is_never_told_as_certain() -> None:
    said = {
        share: words.chance(share).replace(words.THIN, " ") for share in (0.0, 0.004, 0.02, 0.5, 0.985, 0.9999, 1.0)
    }
    assert list(said.values()) == ["under 1 %", "under 1 %", "2 %", "50 %", "98 %", "over 99 %", "over 99 %"]


def test_what_is_counted_out_of_all_says_so_where_it_is_not_all() -> None:
    assert words.out_of(6, 6, "job") == "6 jobs"
    assert words.out_of(1, 1, "job") == "1 job"
    assert words.out_of(0, 1, "job") == "0 of 1 job"
    assert words.out_of(5, 1234, "job") == "5 of 1\u202f234 jobs"


def test_a_sentence_has_a_capital_and_one_sign_at_its_end() -> None:
    assert words.sentence("only one crew.") == words.sentence("only one crew") == "Only one crew."
    assert words.sentence("did you mean dry?") == "Did you mean dry?"
    assert words.sentence("") == ""


@pytest.mark.parametrize(
    ("texts", "said"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_a_list_in_a_sentence(texts: list[str], said: str) -> None:
    assert words.listed(texts) == said
