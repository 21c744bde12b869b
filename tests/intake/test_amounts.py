"""Three digits behind the one mark of an amount: thousands in half of the world, and never two decimals."""

import re
from decimal import Decimal
from pathlib import Path

import polars as pl
import pytest

from analytics.answers.mapping import propose_files
from tests.intake.brought import Rows, brought, clean, csv_bytes, faults, parquet_bytes, workbook

MAP = """version = 1
decimal_comma = {}
[jobs.columns]
job_id = "job_id"
status = "status"
price_charged = "price_charged"
travel_minutes = "travel_minutes"
"""


def sheet(*prices: str, minutes: str = "") -> dict[str, bytes]:
    head = ["job_id", "status", "price_charged", "travel_minutes"]
    rows = [[f"J-{place}", "lost", price, minutes] for place, price in enumerate(prices, 1)]
    return {"jobs.csv": csv_bytes([head, *rows], ";")}


@pytest.mark.parametrize(
    ("cell", "minutes", "write"),
    [
        ("1.250", "", "could be 1250 or 1.250, and an amount has at most 2 decimals; write 1250.00 or 1.25, "),
        (
            "1.234",
            "30.5",
            "2 decimals; round it, or where a file's thousands are written so, decimal_comma = true in its column map",
        ),
        ("1,250", "30,5", "decimal_comma = false in its column map"),
        ("1.250", "30,5", "write 1250.00 or 1.25"),
    ],
)
def test_an_amount_that_could_be_thousands_is_rejected(cell: str, minutes: str, write: str) -> None:
    batch = brought(sheet(cell, "980", minutes=minutes))
    [(row, column, reason)] = faults(batch)
    assert (row, column) == (2, "price_charged")
    assert write in reason
    assert clean(batch, "jobs", "job_id", "price_charged") == [("J-2", Decimal(980))]


@pytest.mark.parametrize(
    ("cell", "comma", "read"),
    [
        ("1.250", "true", 1250),
        ("1,250", "false", 1250),
        ("1.250", "false", "1.25"),
        ("1,250", "true", "1.25"),
        ("€ 12.500", "false", "12.5"),
        ("1.250,50", "true", "1250.5"),
        ("0.500", "", "0.5"),
        ("1250.000", "", 1250),
        ("12.50", "", "12.5"),
    ],
)
def test_an_amount_that_is_settled_is_read(cell: str, comma: str, read: str | int) -> None:
    batch = brought(sheet(cell), MAP.format(comma) if comma else "")
    assert clean(batch, "jobs", "job_id", "price_charged") == [("J-1", Decimal(read))]


@pytest.mark.parametrize(
    ("others", "comma"), [((), "false"), (("950.000", "1250.000"), ""), (("12.50",), "")], ids=["map", "export", "two"]
)
def test_a_third_decimal_is_to_be_rounded_and_no_other_number_is_proposed(others: tuple[str, ...], comma: str) -> None:
    batch = brought(sheet("437.125", *others), MAP.format(comma) if comma else "")
    [(_, _, reason)] = faults(batch)
    assert reason.endswith("an amount has at most 2 decimals; round it")


def test_a_number_of_a_spreadsheet_is_to_be_rounded_first_and_cut_by_nobody() -> None:
    rows: Rows = [["job_id", "status", "price_charged"], ["J-1", "lost", 437.125]]
    [(_, _, reason)] = faults(brought({"jobs.xlsx": workbook(jobs=rows)}))
    assert "2 decimals; round it" in reason
    assert not re.search(r"437\.12\b|437125", reason)


@pytest.mark.parametrize("mark", [".", ","])
@pytest.mark.parametrize("sure", ["1250.000", "12.50", "0.000"])
def test_three_decimals_are_read_where_the_column_itself_settles_them(sure: str, mark: str) -> None:
    batch = brought(sheet(*(price.replace(".", mark) for price in (sure, "950.000", "12.500", "875.250"))))
    read = [Decimal(sure), Decimal(950), Decimal("12.5"), Decimal("875.25")]
    assert [price for _, price in clean(batch, "jobs", "job_id", "price_charged")] == read


@pytest.mark.parametrize("others", [("1.100", "980"), ("1.250.000", "12.50"), ("1.250,50", "12.50"), ("1250,50",)])
def test_nothing_is_settled_by_a_column_that_says_nothing_or_both(others: tuple[str, ...]) -> None:
    batch = brought(sheet("1.250", *others))
    assert (2, "price_charged") in {(row, column) for row, column, _ in faults(batch)}


def test_an_amount_kept_as_a_number_is_no_text_with_a_mark() -> None:
    price = pl.Series([Decimal("1.250")], dtype=pl.Decimal(10, 3))
    frame = pl.DataFrame({"job_id": "J-1", "status": "lost", "price_charged": price})
    batch = brought({"jobs.parquet": parquet_bytes(frame)})
    assert clean(batch, "jobs", "job_id", "price_charged") == [("J-1", Decimal("1.25"))]


def test_a_rate_may_have_three_decimals() -> None:
    rows = [["effective_on", "item", "amount", "currency"], ["2024-01-01", "port_each", "1.125", "USD"]]
    batch = brought({"rates.csv": csv_bytes(rows)})
    assert clean(batch, "rates", "item", "amount") == [("port_each", Decimal("1.125"))]


@pytest.mark.parametrize(("price", "claim"), [("1.250", False), ("950.50", True)])
def test_a_proposed_map_claims_no_decimal_mark_that_an_amount_leaves_open(
    tmp_path: Path, price: str, claim: bool
) -> None:
    file = tmp_path / "jobs.csv"
    file.write_bytes(csv_bytes([["Job #", "Status", "Price charged"], ["1", "done", price], ["2", "done", "980"]]))
    assert ("decimal_comma" in propose_files([file]).text) == claim
