import csv
import io
from datetime import date
from decimal import Decimal
from zipfile import ZipFile

import polars as pl
import pytest

from analytics.contract.formulas import neutral
from analytics.contract.units import displayed
from analytics.pages.page import Column, Table
from analytics.render import spreadsheets

ATTACKS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1+1", "\r=1+1", "=HYPERLINK(1)", "  =1+1", "＝1+1"]


@pytest.fixture
def table() -> Table:
    rows = pl.DataFrame(
        {
            "job_id": ["J-1", "=1+1"],
            "crew": ["C01", None],
            "action": ["engineer_review", "standard"],
            "planned_on": [date(2026, 11, 9), None],
            "risk": [0.0712345, None],
            "low": [0.05, None],
            "high": [0.09, None],
            "price": [Decimal("1234.50"), Decimal("-3.00")],
            "cracks": [-2, 3],
        }
    )
    columns = (
        Column("job_id", "job", under="crew"),
        Column("action", "what it needs", kind="action"),
        Column("planned_on", "when", kind="date"),
        Column("risk", "leak-back", kind="percent", low="low", high="high"),
        Column("price", "price", kind="money", unit="CAD"),
        Column("cracks", "cracks", kind="number"),
    )
    return Table(columns, rows, title="A made-up table")


def read_csv(table: Table) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(spreadsheets.csv(table).decode("utf-8-sig"))))


def read_xlsx(table: Table) -> pl.DataFrame:
    return pl.read_excel(io.BytesIO(spreadsheets.xlsx(table)), engine="calamine")


def sheet_xml(table: Table) -> str:
    with ZipFile(io.BytesIO(spreadsheets.xlsx(table))) as book:
        return book.read("xl/worksheets/sheet1.xml").decode()


@pytest.mark.parametrize("attack", ATTACKS)
def test_no_text_is_a_formula(attack: str) -> None:
    table = Table((Column("a", attack),), pl.DataFrame({"a": [attack]}), title=attack)
    heading, cell = spreadsheets.csv(table).decode("utf-8-sig").split("\n")[:2]
    assert heading.lstrip('"').startswith("'")
    assert cell.lstrip('"').startswith("'")
    assert "<f>" not in sheet_xml(table)


def test_plain_text_is_left_alone() -> None:
    assert neutral("J-1 = 3") == "J-1 = 3"
    assert neutral("") == ""


def test_a_csv_holds_every_value_end_and_note_under_the_pages_headings(table: Table) -> None:
    first, second = read_csv(table)
    assert list(first) == [
        "job", "crew", "what it needs", "when", "leak-back, share", "leak-back, share, low", "leak-back, share, high",
        "price, CAD", "cracks",
    ]  # fmt: skip
    assert first["what it needs"] == "engineer first"
    assert first["when"] == "2026-11-09"
    assert float(first["leak-back, share"]) == 0.0712345
    assert second["job"] == "'=1+1"
    assert second["cracks"] == "3"
    assert first["cracks"] == "-2"
    assert second["leak-back, share"] == ""


def test_numbers_and_days_stay_themselves_in_a_workbook(table: Table) -> None:
    read = read_xlsx(table)
    assert read["leak-back"].to_list() == [0.0712345, None]
    assert read["price, CAD"].to_list() == [1234.5, -3.0]
    assert read["when"].to_list() == [date(2026, 11, 9), None]
    assert read["job"].to_list() == ["J-1", "'=1+1"]


def test_a_workbook_shows_the_pages_digits(table: Table) -> None:
    with ZipFile(io.BytesIO(spreadsheets.xlsx(table))) as book:
        styles = book.read("xl/styles.xml").decode()
    assert 'formatCode="0.0%"' in styles
    assert "yyyy-mm-dd" in styles


def test_a_range_is_its_two_ends() -> None:
    rows = pl.DataFrame({"low": [0.47], "high": [0.86]})
    table = Table((Column("litres", "resin", kind="range", unit="L", low="low", high="high"),), rows, title="t")
    assert read_csv(table) == [{"resin, L, low": "0.47", "resin, L, high": "0.86"}]
    assert read_xlsx(table).row(0) == (0.47, 0.86)


def test_two_columns_of_one_name_are_told_apart() -> None:
    rows = pl.DataFrame({"a": ["x"], "b": ["y"]})
    table = Table((Column("a", "job"), Column("b", "job")), rows, title="t")
    assert read_csv(table) == [{"job": "x", "job 2": "y"}]
    assert read_xlsx(table).columns == ["job", "job 2"]


def test_an_empty_table_is_its_headings(table: Table) -> None:
    empty = Table(table.columns, table.rows.clear(), title="t")
    assert read_csv(empty) == []
    assert spreadsheets.xlsx(empty)


def test_numbers_are_in_the_units_of_their_heading() -> None:
    table = Table((Column("m", "length", "number", unit="m", digits=2),), pl.DataFrame({"m": [2.4]}), title="t")
    with displayed("us"):
        [row] = read_csv(table)
    # 2.4 m is 7.874 ft: the international foot is 0.3048 m exactly (NIST SP 811)
    assert list(row) == ["length, ft"]
    assert float(row["length, ft"]) == pytest.approx(2.4 / 0.3048)
