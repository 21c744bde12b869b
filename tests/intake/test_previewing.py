"""What a preview shows is what a load makes of the same cells, and of later rows what it could not read."""

import polars as pl

from analytics.answers import mapping
from analytics.intake import Source
from tests.intake.brought import csv_bytes

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
