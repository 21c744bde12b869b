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


@pytest.fixture(scope="module")
def october() -> Known:
    batch = load(OCTOBER)
    frames = {name: batch.tables[name].clean for name in ("jobs", "cracks")}
    return Known.of(frames | {"reviews": TABLES["reviews"].create_empty()})


def test_a_corrected_row_that_comes_alone_overwrites_no_other_crack(october: Known) -> None:
    batch = load([row(1, ["4.0", "1.5", "2.2"]), row(10, LONG)], october)
    assert clean(batch, "cracks", "crack_id") == [("10-1",)]
    [(_, column, reason)] = faults(batch)
    assert column == "crack_id"
    assert reason.startswith("counted as 1-1 within its job, which has a length of 2.0 m in the records, not 4.0;")


def test_another_width_is_another_crack_too(october: Known) -> None:
    [(_, _, reason)] = faults(load([row(2, ["2.0", "1.5", "0.5"])], october))
    assert "a width of 0.5 mm in the records, not 1.5" in reason


def test_fewer_rows_than_the_job_has_cracks_are_refused(october: Known) -> None:
    [(_, _, reason)] = faults(load([row(1, ["2.0", "0.5", "0.4"])], october))
    assert "more cracks in the records than rows in this file" in reason


@pytest.mark.parametrize("rows", [OCTOBER, [*OCTOBER, row(1, LONG)], [row(2, ["2.001", "0.5", "0.9"])]])
def test_all_rows_of_a_job_again_are_taken(rows: list[list[str]], october: Known) -> None:
    assert faults(load(rows, october)) == []


def test_what_was_not_measured_tells_no_two_cracks_apart(october: Known) -> None:
    assert faults(load([row(3, SHORT)], october)) == []


def test_a_crack_with_a_number_of_its_own_may_be_measured_anew(october: Known) -> None:
    files = {"cracks.csv": csv_bytes([["crack_id", "job_id", "length_m"], ["1-1", "1", "4"]])}
    assert faults(brought(files, known=october)) == []


def test_a_sheet_without_rows_stops_nothing(october: Known) -> None:
    assert counts(load([], october), "cracks") == (0, 0, 0, 0)
    files = {"empty.csv": csv_bytes([TOP]), "work.csv": csv_bytes([TOP, *OCTOBER])}
    assert counts(brought(files, MAP, october), "cracks") == (4, 4, 0, 0)
