from datetime import date
from decimal import Decimal

import polars as pl
import pytest

from analytics.contract import units
from analytics.pages.page import Column, Figure, Table
from analytics.render.cells import cell, column_label, digits_of, figure, half_columns, source_said, wide_columns

T = "\u202f"


@pytest.mark.parametrize(
    ("column", "row", "digits", "main", "under"),
    [
        (Column("a", "a"), {"a": "J-1"}, 0, "J-1", ""),
        (Column("a", "a"), {"a": None}, 0, "–", ""),
        (Column("a", "a"), {"a": True}, 0, "yes", ""),
        (Column("a", "a", under="b"), {"a": "J-1", "b": "crew C1"}, 0, "J-1", "crew C1"),
        (Column("a", "a", under="b"), {"a": "J-1", "b": None}, 0, "J-1", ""),
        (Column("a", "a", "number", "m"), {"a": 1234.5}, 1, f"1{T}234.5", ""),
        (Column("a", "a", "money", "CAD"), {"a": Decimal("12.5")}, 2, "12.50", ""),
        (
            Column("a", "a", "percent", low="l", high="h"),
            {"a": 0.071, "l": 0.054, "h": 0.093},
            1,
            f"7.1{T}%",
            "5.4 to 9.3",
        ),
        (Column("a", "a", "percent", low="l", high="h"), {"a": None, "l": None, "h": None}, 1, "–", ""),
        (Column("a", "a", "range", "L", low="l", high="h"), {"l": 0.47, "h": 0.86}, 2, "0.47 to 0.86", ""),
        (Column("a", "a", "date"), {"a": date(2026, 11, 9)}, 0, "Mon 9 Nov", ""),
        (Column("a", "a", "action"), {"a": "engineer_review"}, 0, "◆ engineer first", ""),
        (Column("a", "a", "action"), {"a": "standard"}, 0, "standard", ""),
        (Column("a", "a", "action"), {"a": "other"}, 0, "other", ""),
    ],
)
def test_cell(column: Column, row: dict[str, object], digits: int, main: str, under: str) -> None:
    shown = cell(column, row, digits)
    assert (shown.main, shown.under) == (main, under)


def test_a_unit_stands_in_the_heading() -> None:
    assert column_label(Column("a", "resin", "number", "L")) == "resin, L"
    assert column_label(Column("a", "job")) == "job"


def test_a_columns_numbers_share_their_digits() -> None:
    rows = pl.DataFrame({"a": [1.25, 10.0], "b": [1, 2], "c": [0.5, 0.25], "l": [0.1, 0.2], "h": [0.31, 0.42]})
    columns = (
        Column("a", "a", "number"),
        Column("b", "b", "number"),
        Column("c", "c", "percent"),
        Column("d", "d", "range", low="l", high="h"),
        Column("a", "again", "text"),
    )
    assert digits_of(Table(columns, rows, "t")) == {"a": 0, "b": 0, "c": 1, "d": 2}


def test_only_long_text_may_wrap() -> None:
    rows = pl.DataFrame({"job": ["J-3982"], "why": ["seeping, epoxy planned: dry it first"], "n": [1]})
    table = Table((Column("job", "job"), Column("why", "why"), Column("n", "n", "number")), rows, "t")
    assert wide_columns(table) == {"why"}


def test_short_ones_share_a_line_but_the_first_and_what_carries_an_interval() -> None:
    rows = pl.DataFrame({"crew": ["C01", "C02"], "n": [506, 7], "of": [20.0, 3.5], "l": [19.0, 1.0], "h": [21.0, 9.0]})
    columns = (
        Column("crew", "crew"),
        Column("n", "cracks", "number"),
        Column("of", "expected", "number", low="l", high="h"),
        Column("of", "of them expected", "number"),
        Column("n", "seen", "number", "L"),
    )
    table = Table(columns[:3], rows, "t")
    assert half_columns(table, digits_of(table)) == {"n"}
    longer = Table((columns[0], columns[3]), rows, "t")  # 16 letters and the 4 of 20.0
    assert half_columns(longer, digits_of(longer)) == set()
    assert half_columns(Table((columns[0], columns[4]), rows, "t"), {}) == {"n"}


@pytest.mark.parametrize(
    ("given", "written"),
    [
        (Figure("a", 0.071, 0.054, 0.093, kind="percent"), f"7.1{T}% (5.4 to 9.3)"),
        (Figure("a", 0.63, 0.47, 0.86, unit="L"), f"0.63{T}L (0.47 to 0.86)"),
        (Figure("a", None, kind="percent", note="18 more would do"), "–"),
        (Figure("a", Decimal("1234.5"), kind="money", unit="CAD"), f"1{T}234.50{T}CAD"),
        (Figure("a", None, 3, 7, kind="range", unit="cracks"), f"3 to 7{T}cracks"),
        (Figure("a", date(2026, 11, 9), kind="date"), "Mon 9 Nov"),
        (Figure("a", "extra_prep", kind="action"), "▲ extra prep"),
        (Figure("a", 12), "12"),
    ],
)
def test_figure(given: Figure, written: str) -> None:
    assert figure(given) == written


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("a handbook", "Source: a handbook"),
        ("common practice, no published source", "Common practice, no published source"),
        ("our own choice, no source: that several means three", "Our own choice, no source: that several means three"),
        ("", ""),
    ],
)
def test_no_source_is_announced_where_there_is_none(source: str, said: str) -> None:
    assert source_said(source) == said


@pytest.mark.parametrize(("fahrenheit", "celsius"), [(39, 3.888889), (49, 9.444444), (67, 19.444444)])
def test_a_temperature_has_the_figures_of_the_readers_scale(fahrenheit: int, celsius: float) -> None:
    with units.displayed("us"):
        assert figure(Figure("wall", celsius, unit="°C")) == f"{fahrenheit}{T}°F"
