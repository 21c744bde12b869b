"""What a preview shows is what a load makes of the same cells, and of later rows what it could not read."""

import polars as pl

from analytics.answers import mapping
from analytics.intake import Source
from tests.intake.brought import csv_bytes, workbook

TOP = ["Job #", "Status", "Done", "Crew", "Price"]
MAP = """version = 1
[jobs.columns]
job_id = "Job #"
status = "Status"
done_on = "Done"
crew_id = "Crew"
price_charged = "Price"
"""


def proposed(states: list[str], prices: list[str], text: str = "") -> mapping.Proposed:
    pairs = enumerate(zip(states, prices, strict=True))
    rows = [[str(n), state, "2026-09-11", "C01", price] for n, (state, price) in pairs]
    return mapping.propose_sources([Source("work.csv", csv_bytes([TOP, *rows]))], text)


def test_later_rows_that_are_written_otherwise_are_looked_at_and_shown() -> None:
    states = ["done"] * 500 + ["invoiced"] * 60 + ["gone", "lost for good"]
    found = proposed(states, ["900"] * len(states))
    [status] = [guess for guess in found.proposals[0].guesses if guess.column == "status"]
    assert status.origin.words["invoiced"] == "done"
    [later] = found.preview.filter(pl.col("row") > 3).rows(named=True)
    assert (later["row"], later["column"], later["before"], later["after"]) == (562, "status", "gone", None)
    assert later["fault"].endswith("(and 1 more cell of this column)")


def test_a_cell_is_shown_as_its_whole_column_makes_it_read() -> None:
    prices = ["1.250", "1.250", "900.5"]
    shown = proposed(["done"] * 3, prices, MAP).preview.filter(pl.col("column") == "price_charged")
    assert shown["after"].to_list() == ["1.25", "1.25"]


def test_a_row_whose_cells_have_shifted_is_not_shown_as_if_it_would_go_in() -> None:
    content = b"Job #,Status,Done,Crew,Price\n1,done,2026-09-11,C01,900,50\n2,done,2026-09-11,C01,800.5\n"
    shown = mapping.propose_sources([Source("work.csv", content)], MAP).preview
    [number, _] = shown.filter(pl.col("column") == "job_id").rows(named=True)
    assert number["after"] is None
    assert number["fault"].startswith("the row has 6 cells, the header 5; where a cell holds the mark")


def test_a_header_that_is_there_twice_is_said_before_the_load_refuses_it() -> None:
    rows = [[*TOP, "Price"], ["1", "done", "2026-09-11", "C01", "900", "80"]]
    assert "the column Price is there twice" in mapping.propose_sources([Source("w.csv", csv_bytes(rows))]).fault


def test_a_sheet_of_notes_is_not_blamed_for_what_the_map_lacks() -> None:
    rows = [["Number", *TOP[1:]], ["the first", "done", "2026-09-11", "C01", "900"]]
    found = mapping.propose_sources([Source("w.xlsx", workbook(Work=rows, Notes=[["call the office"]]))])
    assert found.fault.startswith("the column map: jobs needs job_id")


def test_an_amount_with_marks_between_thousands_is_not_left_out() -> None:
    rows = [["1", "1.250,00"], ["2", "980,50"], ["3", "1.450"], ["4", "2.100,00"]]
    columns = [[TOP[0], TOP[2], "Crew", "Price"], *([number, "2026-09-11", "C01", price] for number, price in rows)]
    found = mapping.propose_sources([Source("work.csv", csv_bytes(columns, delimiter=";"))])
    assert [guess.is_made for guess in found.proposals[0].guesses if guess.column == "price_charged"] == [True]
    shown = found.preview.filter(pl.col("column") == "price_charged")["after"].to_list()
    assert shown == ["1250.00", "980.50"]
