"""Amounts typed by hand: with their currency and thousands where nothing is in doubt, asked for again where it is."""

from decimal import Decimal

import pytest

from analytics.contract.tables import TABLES
from analytics.intake.by_hand import number_of, sheet_of_rows
from analytics.intake.typing_cells import settle, typed

PRICE = TABLES["jobs"].columns()["price_quoted"]


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("$1,250.00", "1250"),
        ("1.250,50 EUR", "1250.5"),
        ("1,250,000.5", "1250000.5"),
        ("450", "450"),
        ("450,5", "450.5"),
        ("", None),
    ],
)
def test_an_amount_is_read_as_people_write_it(text: str, amount: str | None) -> None:
    assert number_of(text, PRICE) == (None if amount is None else Decimal(amount), "")


@pytest.mark.parametrize("text", ["1,250", "1.250", "12,50.00", "1,250.00,5", "1.250.00"])
def test_an_amount_that_is_none_or_could_be_two_is_not_read(text: str) -> None:
    value, fault = number_of(text, PRICE)
    assert value is None
    assert fault


def test_a_form_reads_an_amount_as_a_field_does() -> None:
    sheet = sheet_of_rows("jobs", [{"job_id": "J-1", "price_quoted": "$1,250.00"}], "form")
    values, faults = typed(sheet.cells["price_quoted"], PRICE, sheet.written["price_quoted"], mark=settle(sheet))
    assert (values.to_list(), faults) == ([Decimal(1250)], {})
