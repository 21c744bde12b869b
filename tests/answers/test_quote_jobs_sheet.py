"""A workbook with a sheet of jobs and one of cracks: quoted with what the jobs say, and nothing of it lost silently."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from analytics.answers.quote_file import NO_SITES, from_file
from analytics.answers.quote_of_file import quote_file
from analytics.answers.quoting import quote_planned
from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError
from analytics.intake import parse_map
from analytics.pages import quoted
from analytics.pages.page import Table, Words
from tests.answers.test_currencies import LATER, changed_over
from tests.histories import CRACK, DONE_JOB
from tests.intake.brought import Rows, workbook

JOBS: Rows = [
    ["Ticket", "Site", "Visit", "Sent", "Price", "Drive", "Reach", "Months", "Note"],
    ["T-1", "Mill", "11/23/2026", "10/30/2026", "1900", "0.5", "Drywall", "24", "a"],
    ["T-2", "", "12/1/2026", "", "700", "", "Bare", "", "b"],
]
CRACKS: Rows = [
    ["Ticket", "No", "Length", "Width", "Wall", "Product"],
    ["T-1", "1", "3", "0.5", "200", "Foam"],
    ["T-1", "2", "1", "0.4", "200", "Foam"],
    ["T-2", "1", "2", "0.4", "200", "Epoxy"],
]
MAP = """
version = 1
date_format = "MM/DD/YYYY"
[jobs]
from = "log"
[jobs.columns]
job_id = "Ticket"
site_id = "Site"
status = { constant = "planned" }
planned_on = "Visit"
quoted_on = "Sent"
price_quoted = "Price"
travel_minutes = { header = "Drive", unit = "hours" }
access = { header = "Reach", words = { "Drywall" = "finished", "Bare" = "open" } }
warranty_months = "Months"
[cracks]
from = "walls"
[cracks.columns]
job_id = "Ticket"
crack_id = { template = "{Ticket}-{No}" }
length_m = "Length"
width_mm = "Width"
wall_thickness_mm = "Wall"
resin = { header = "Product", words = { "Foam" = "urethane_foam" } }
"""
FACTS = ("crack_id", "access", "travel_minutes", "warranty_months", "planned_on", "price_quoted")


def both(folder: Path, jobs: Rows = JOBS, cracks: Rows = CRACKS, **others: Rows) -> Path:
    path = folder / "both.xlsx"
    path.write_bytes(workbook(log=jobs, walls=cracks, **others))
    return path


@pytest.fixture
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def test_what_a_sheet_of_jobs_says_is_known_of_its_cracks(tmp_path: Path) -> None:
    asked = from_file(both(tmp_path), column_map=parse_map(MAP))
    first = ("finished", 30.0, 24, date(2026, 11, 23), Decimal(1900))
    assert asked.cracks.select(FACTS).rows() == [
        ("T-1-1", *first),
        ("T-1-2", *first),
        ("T-2-1", "open", None, None, date(2026, 12, 1), Decimal(700)),
    ]
    assert asked.rejects == ()
    assert "Note" in asked.dropped_columns
    assert asked.unused == (NO_SITES,)


def test_the_price_of_a_job_is_placed_beside_its_floor_and_shared_out_by_length(
    records: Records, tmp_path: Path
) -> None:
    found = quote_file(records, both(tmp_path), parse_map(MAP))
    prices = [each.place.price for each in found.quotes if each.place]
    assert prices == [Decimal(1425), Decimal(475), Decimal(700)]
    [one, other] = found.jobs
    assert (one.job_id, one.price, other.price) == ("T-1", Decimal(1900), Decimal(700))
    assert one.margin == pytest.approx(1 - float(one.floor or 0) / 1900)
    [table] = [part for part in quoted.build(found).parts if isinstance(part, Table) and part.title == "Quotes"]
    assert [row["price"] for row in table.rows.rows(named=True)] == [1425.0, 475.0, 700.0]
    assert "price" in [column.key for column in table.columns]


def test_a_price_given_for_a_crack_itself_stays(records: Records, tmp_path: Path) -> None:
    path = tmp_path / "cracks.csv"
    path.write_text(
        "job_id,length_m,width_mm,wall_thickness_mm,resin,price,price_quoted\nA,3,0.5,200,epoxy,900,\n"
        "A,1,0.5,200,epoxy,100,1000\nB,3,0.5,200,epoxy,,800\nB,1,0.5,200,epoxy,,800\n",
        encoding="utf-8",
    )
    found = quote_file(records, path)
    assert [each.facts["price"] for each in found.quotes] == [Decimal(900), Decimal(100), Decimal(600), Decimal(200)]
    assert [job.price for job in found.jobs] == [Decimal(1000), Decimal(800)]


NOT_OURS = {"status", "branch", "done_on", "price_charged"}


def planned_workbook(cracks: pl.DataFrame, path: Path) -> Path:
    """Planned cracks and their jobs as a workbook under our own names."""
    told = {
        "jobs": [name for name in TABLES["jobs"].columns() if name not in NOT_OURS],
        "cracks": [name for name in TABLES["cracks"].columns() if name in cracks.columns],
    }
    sheets = {
        table: [
            names,
            *([_cell(value) for value in row] for row in cracks.select(names).unique(maintain_order=True).rows()),
        ]
        for table, names in told.items()
    }
    path.write_bytes(workbook(**sheets))
    return path


def _cell(value: object) -> str:
    return "" if value is None else str(value)


def test_planned_jobs_in_a_workbook_of_our_own_names_are_quoted_as_those_of_the_records(
    records: Records, tmp_path: Path
) -> None:
    plain = pl.col("asked_on").is_null() & pl.col("length_m").is_not_null() & pl.col("width_mm").is_not_null()
    planned = records.ask("planned_cracks").filter(plain.all().over("job_id"))
    theirs = {each.crack_id: each for each in quote_planned(records).quotes}
    found = quote_file(records, planned_workbook(planned, tmp_path / "planned.xlsx"))
    assert found.rejects == ()
    assert found.unused == ()
    assert found.dropped_columns == ()
    assert len(found.quotes) == planned.height > 50
    for one in found.quotes:
        other = theirs[one.crack_id]
        assert (one.price.floor is None) == (other.price.floor is None)
        assert float(one.price.floor or 0) == pytest.approx(float(other.price.floor or 0))
        assert (one.place and one.place.price) == (other.place and other.place.price)
        assert one.hours.answer() == pytest.approx(other.hours.answer())
        assert (one.flag.action, one.flag.reasons) == (other.flag.action, other.flag.reasons)
        assert [each.finished.crack_id for each in one.comparable] == [
            each.finished.crack_id for each in other.comparable
        ]


def test_a_site_that_leaked_back_before_is_known_by_what_it_is_called(
    records_of: Callable[..., Records], tmp_path: Path
) -> None:
    calls = [
        {"callback_id": f"B-{n}", "job_id": "J-1", "crack_id": f"K-{n}", "reported_on": "2024-05-01"}
        | {"finding": "leak_back"}
        for n in (1, 2)
    ]
    records = records_of(
        {
            "jobs": [{**DONE_JOB, "site_id": "Mill", "warranty_months": 60}],
            "cracks": [CRACK, {**CRACK, "crack_id": "K-2"}],
            "callbacks": calls,
        }
    )
    found = quote_file(records, both(tmp_path), parse_map(MAP))
    assert [each.flag.action for each in found.quotes][:2] == ["engineer_review"] * 2
    assert found.quotes[2].flag.action != "engineer_review"


def test_a_price_quoted_in_the_old_money_is_held_against_nothing(
    records_of: Callable[..., Records], tmp_path: Path
) -> None:
    records = records_of(changed_over())
    jobs = [["job_id", "quoted_on", "price_quoted"], ["A", "2024-05-30", "900"], ["B", LATER, "900"]]
    cracks = [["job_id", "length_m", "width_mm"], ["A", "2", "0.5"], ["B", "2", "0.5"]]
    path = tmp_path / "both.xlsx"
    path.write_bytes(workbook(jobs=jobs, cracks=cracks))
    assert [job.price for job in quote_file(records, path).jobs] == [None, Decimal(900)]


def test_what_does_not_come_together_is_said(records: Records, tmp_path: Path) -> None:
    jobs = [*JOBS, ["T-8", *JOBS[1][1:]], ["T-9", *JOBS[1][1:]], ["", *JOBS[1][1:]]]
    cracks = [*CRACKS, ["T-5", *CRACKS[1][1:]]]
    found = quote_file(records, both(tmp_path, jobs, cracks), parse_map(MAP))
    assert found.unused == (
        "Not quoted, named by no crack of the file: 2 jobs (T-8, T-9).",
        "Not read, naming no job: 1 row (row 6 of log).",
        "Quoted without what is a job's, for want of a row of the jobs: 1 crack (T-5-1).",
    )
    assert [each.crack_id for each in found.quotes] == ["T-1-1", "T-1-2", "T-2-1", "T-5-1"]
    said = [part.text for part in quoted.build(found).parts if isinstance(part, Words)]
    assert set(found.unused) <= set(said)
    assert found.answer()["unused"] == list(found.unused)


def changed(place: int, column: str, value: str) -> list[list[Any]]:
    rows = [list(row) for row in JOBS]
    rows[place][JOBS[0].index(column)] = value
    return rows


@pytest.mark.parametrize(
    ("jobs", "reason"),
    [
        (changed(1, "Reach", "Ladder"), "its job cannot be used, row 2 of log: access: the cell is not one of"),
        (changed(1, "Drive", "90"), "its job cannot be used, row 2 of log: travel_minutes: travel 5400: it must be"),
        (changed(1, "Visit", "soon"), "its job cannot be used, row 2 of log: planned_on: the cell is not a day"),
        (
            [*JOBS, *changed(1, "Price", "9")[1:2]],
            "its job cannot be used: row 2 of log and row 4 of log differ in price quoted; leave one of them",
        ),
    ],
)
def test_cracks_of_a_job_that_cannot_be_used_are_not_quoted_without_it(tmp_path: Path, jobs: Rows, reason: str) -> None:
    asked = from_file(both(tmp_path, jobs), column_map=parse_map(MAP))
    assert asked.cracks["crack_id"].to_list() == ["T-2-1"]
    assert [(each["row"], each["column"]) for each in asked.rejects] == [(2, "job_id"), (3, "job_id")]
    assert {each["reason"][: len(reason)] for each in asked.rejects} == {reason}


def test_a_job_and_its_crack_that_differ_in_what_is_shared_out_are_told_apart(tmp_path: Path) -> None:
    path = tmp_path / "both.xlsx"
    cracks = [["job_id", "length_m", "width_mm", "travel_minutes"], ["A", "2", "0.5", "30"], ["A", "2", "0.5", ""]]
    path.write_bytes(workbook(jobs=[["job_id", "travel_minutes"], ["A", "40"]], cracks=cracks))
    asked = from_file(path)
    assert asked.rejects == ({"row": 2, "column": "travel_minutes", "reason": "travel 30, but 40 in row 2 of jobs"},)
    assert asked.cracks["travel_minutes"].to_list() == [40.0]


def test_a_price_is_not_shared_out_over_a_part_of_a_job(records: Records, tmp_path: Path) -> None:
    cracks = [*CRACKS[:2], ["T-1", "2", "long", "0.4", "200", "Foam"], CRACKS[3]]
    found = quote_file(records, both(tmp_path, cracks=cracks), parse_map(MAP))
    assert [(each.crack_id, each.place is None) for each in found.quotes] == [("T-1-1", True), ("T-2-1", False)]
    assert found.unused == ("The price quoted is held against no costs where not every crack is quoted: 1 job (T-1).",)


def test_rows_of_jobs_among_those_of_the_cracks_are_jobs(tmp_path: Path) -> None:
    path = tmp_path / "one.xlsx"
    rows = [[*JOBS[0][:-1], *CRACKS[0][1:]]]
    rows += [[*JOBS[1][:-1], *[""] * 5], *([job, *[""] * 7, *rest] for job, *rest in CRACKS[1:3])]
    path.write_bytes(workbook(log=rows))
    told = from_file(path, column_map=parse_map(MAP.replace('"walls"', '"log"')))
    facts = ("finished", 30.0, 24, date(2026, 11, 23), Decimal(1900))
    assert told.cracks.select(FACTS).rows() == [("T-1-1", *facts), ("T-1-2", *facts)]
    assert told.rejects == ()


def test_sheets_that_no_quote_reads_are_named(tmp_path: Path) -> None:
    path = tmp_path / "all.xlsx"
    cracks: Rows = [["length_m", "width_mm"], ["2", "0.5"]]
    path.write_bytes(workbook(cracks=cracks, rates=[["item", "amount"], ["seal_kg", "4"]]))
    asked = from_file(path)
    assert (asked.cracks.height, asked.unused) == (1, ("What no quote reads, left out: the rows of rates.",))
    path.write_bytes(workbook(jobs=[["job_id"], ["A"]], rates=[["item", "amount"], ["seal_kg", "4"]]))
    with pytest.raises(LeakbackError, match="no sheet of it holds cracks; name the one that does cracks"):
        from_file(path)
