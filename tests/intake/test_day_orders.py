"""Columns of one file whose days are written in different orders."""

import pytest

from analytics.answers import mapping
from analytics.intake import Source
from analytics.pages import mapped
from analytics.pages.page import Words
from tests.intake.brought import brought, clean, csv_bytes, faults

TOP = ["Job", "Quoted", "Done"]
MAP = """version = 1
date_format = "DD/MM/YYYY"
[jobs.columns]
job_id = "Job"
crew_id = {{ constant = "C01" }}
status = {{ constant = "done" }}
quoted_on = {quoted}
done_on = "Done"
"""
BOTH = [
    "J-1,02/03/2026,20/03/2026",
    "J-2,02/04/2026,21/04/2026",
    "J-3,02/25/2026,22/05/2026",
    "J-4,03/03/2026,22/05/2026",
]
FILE = {"jobs.csv": csv_bytes([TOP, *(row.split(",") for row in BOTH)])}


def test_a_column_whose_own_days_speak_for_the_other_order_is_not_read_in_the_one_said_for_the_file() -> None:
    batch = brought(FILE, MAP.format(quoted='"Quoted"'))
    assert [(row, column) for row, column, _ in faults(batch)] == [(2, "quoted_on"), (3, "quoted_on"), (4, "quoted_on")]
    reasons = [reason for _, _, reason in faults(batch)]
    assert "could be DD/MM/YYYY or MM/DD/YYYY" in reasons[0]
    assert 'say date_format = "MM/DD/YYYY" for this column' in reasons[0]
    assert clean(batch, "jobs", "job_id") == [("J-4",)], "the third of the third is one day in either order"


def test_each_column_may_say_its_own_order() -> None:
    batch = brought(FILE, MAP.format(quoted='{ header = "Quoted", date_format = "MM/DD/YYYY" }'))
    read = [(str(quoted), str(done)) for _, quoted, done in clean(batch, "jobs", "job_id", "quoted_on", "done_on")]
    assert read[0] == ("2026-02-03", "2026-03-20")


@pytest.mark.parametrize(("right", "rejected"), [(11, 1), (9, 2)])
def test_one_slip_among_many_days_costs_its_own_row_alone(right: int, rejected: int) -> None:
    days = [*(f"{day}/03/2026" for day in range(13, 13 + right)), "02/25/2026", "02/04/2026"]
    rows = [[f"J-{place}", day, "31/05/2026"] for place, day in enumerate(days)]
    batch = brought({"jobs.csv": csv_bytes([TOP, *rows])}, MAP.format(quoted='"Quoted"'))
    assert len(faults(batch)) == rejected


def test_an_order_taken_from_another_column_is_said_to_be_open() -> None:
    rows = [["J-1", "02/03/2026", "20/03/2026"], ["J-2", "02/04/2026", "21/04/2026"]]
    proposed = mapping.propose_sources([Source("jobs.csv", csv_bytes([["Job", "Quoted on", "Done"], *rows]))])
    [guess] = [each for each in proposed.proposals[0].guesses if each.column == "quoted_on"]
    assert guess.reason.endswith("could be in either order; read as DD/MM/YYYY, as in Done")


def test_days_taken_in_the_order_of_another_column_are_to_be_looked_at() -> None:
    rows = [["J-1", "02/03/2026", "20/03/2026"], ["J-2", "02/04/2026", "21/04/2026"]]
    proposed = mapping.propose_sources([Source("jobs.csv", csv_bytes([["Job", "Quoted on", "Done"], *rows]))])
    lines = [part.text for part in mapped.guessed(proposed) if isinstance(part, Words)]
    [line] = [each for each in lines if each.startswith("Look at")]
    assert "Quoted on: none of its days is over 12, so it could be in either order; read as DD/MM/YYYY" in line


def test_days_that_leave_no_doubt_are_not_to_be_looked_at() -> None:
    rows = [["J-1", "22/03/2026", "20/03/2026"], ["J-2", "02/04/2026", "21/04/2026"]]
    proposed = mapping.propose_sources([Source("jobs.csv", csv_bytes([["Job", "Quoted on", "Done"], *rows]))])
    lines = [part.text for part in mapped.guessed(proposed) if isinstance(part, Words)]
    assert not [each for each in lines if each.startswith("Look at")]


def test_days_in_doubt_are_proposed_in_the_order_of_the_other_files_and_not_taken_so() -> None:
    jobs = csv_bytes([["Job", "Crew", "Done"], ["J-1", "C1", "02/25/2026"], ["J-2", "C1", "03/30/2026"]])
    rates = [["From", "Item", "Amount", "Currency"], ["01/02/2026", "travel_hour", "30", "USD"]]
    proposed = mapping.propose_sources([Source("jobs.csv", jobs), Source("rates.csv", csv_bytes(rates))])
    [guess] = [each for each in proposed.proposals[1].guesses if each.column == "effective_on"]
    assert (guess.is_made, guess.origin.date_format) == (False, "MM/DD/YYYY")
    assert guess.unsaid == (
        "could be DD/MM/YYYY or MM/DD/YYYY: no day is over 12; the other days of these files are MM/DD/YYYY, so it is "
        "likely"
    )
    assert '# maybe: effective_on = { header = "From", date_format = "MM/DD/YYYY" }' in proposed.text
