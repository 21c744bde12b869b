"""Cracks numbered by counting the rows of their job, and later files that count otherwise."""

from collections.abc import Sequence

import pytest

from analytics.contract.batch import Batch
from analytics.contract.tables import TABLES
from analytics.intake import Known
from tests.intake.brought import brought, clean, counts, csv_bytes, faults

TOP = ["Job", "Done", "Crew", "Length", "Width", "Litres"]
MAP = """version = 1
decimal_comma = false
[jobs.columns]
job_id = "Job"
crew_id = "Crew"
status = { constant = "done" }
done_on = "Done"
[cracks.columns]
crack_id = { template = "{Job}-{#}" }
job_id = "Job"
length_m = "Length"
width_mm = "Width"
resin_litres = "Litres"
"""
SHORT, LONG = ["2.0", "0.5", "0.5"], ["4.0", "1.5", "2.5"]


def row(job: int, measured: Sequence[str]) -> list[str]:
    return [str(job), "2026-10-02", "C01", *measured]


OCTOBER = [row(1, SHORT), row(1, LONG), row(2, SHORT), row(3, ["", "", "0.5"])]


def load(rows: Sequence[Sequence[str]], known: Known | None = None) -> Batch:
    return brought({"work.csv": csv_bytes([TOP, *rows])}, MAP, known)


def records(rows: Sequence[Sequence[str]]) -> Known:
    batch = load(rows)
    frames = {name: batch.tables[name].clean for name in ("jobs", "cracks")}
    return Known.of(frames | {"reviews": TABLES["reviews"].create_empty()})


@pytest.fixture(scope="module")
def october() -> Known:
    return records(OCTOBER)


def test_a_corrected_row_that_comes_alone_overwrites_no_other_crack(october: Known) -> None:
    batch = load([row(1, ["4.0", "1.5", "2.2"]), row(10, LONG)], october)
    assert clean(batch, "cracks", "crack_id") == [("10-1",)]
    [(_, column, reason)] = faults(batch)
    assert column == "crack_id"
    assert reason.startswith("counted as 1-1; crack 1-1 in the records is 2.0 m long, this row 4.0 m; mend crack_id")


def test_another_width_is_another_crack_too(october: Known) -> None:
    [(_, _, reason)] = faults(load([row(2, ["2.0", "1.5", "0.5"])], october))
    assert "crack 2-1 in the records is 0.5 mm wide, this row 1.5 mm;" in reason


@pytest.mark.parametrize("sizes", [["2.0", ""], ["", "0.5"], ["2.001", "0.5"]])
def test_fewer_rows_than_the_job_has_cracks_are_refused(sizes: list[str], october: Known) -> None:
    [(_, _, reason)] = faults(load([row(1, [*sizes, "0.4"])], october))
    assert "more cracks in the records than rows in this file" in reason


@pytest.mark.parametrize("rows", [OCTOBER, [*OCTOBER, row(1, LONG)], [row(2, ["2.001", "0.5", "0.9"])]])
def test_all_rows_of_a_job_again_are_taken(rows: list[list[str]], october: Known) -> None:
    assert faults(load(rows, october)) == []


def test_the_same_rows_are_taken_again_after_a_crack_was_added_by_hand() -> None:
    by_hand = row(1, ["3.0", "1.0", "1.0"])
    assert faults(load(OCTOBER, records([*OCTOBER, by_hand]))) == []


def test_what_was_not_measured_tells_no_two_cracks_apart(october: Known) -> None:
    assert faults(load([row(3, SHORT)], october)) == []


def test_a_crack_with_a_number_of_its_own_may_be_measured_anew(october: Known) -> None:
    files = {"cracks.csv": csv_bytes([["crack_id", "job_id", "length_m"], ["1-1", "1", "4"]])}
    assert faults(brought(files, known=october)) == []


def test_a_sheet_without_rows_stops_nothing(october: Known) -> None:
    assert counts(load([], october), "cracks") == (0, 0, 0, 0)
    files = {"empty.csv": csv_bytes([TOP]), "work.csv": csv_bytes([TOP, *OCTOBER])}
    assert counts(brought(files, MAP, october), "cracks") == (4, 4, 0, 0)
