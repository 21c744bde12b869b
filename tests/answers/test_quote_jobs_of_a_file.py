"""Several cracks of one job in a file: what is the job's is said once, counted once, and the whole is told."""

from decimal import Decimal
from pathlib import Path

import pytest

from analytics.answers.quote_file import from_file
from analytics.answers.quoting import Quotes, quote
from analytics.answers.records import Records
from analytics.pages import quoted
from analytics.pages.page import Table

HEAD = "job_id,crack_id,length_m,width_mm,wall_thickness_mm,resin,water,travel_minutes,access,price,cracks_on_job\n"
TWO = "A,A1,2.4,0.5,200,epoxy,dry,,,700,\nA,A2,1.2,0.3,200,epoxy,damp,40,open,300,\n"


@pytest.fixture
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def written(folder: Path, rows: str) -> Path:
    path = folder / "cracks.csv"
    path.write_text(HEAD + rows, encoding="utf-8")
    return path


def found(records: Records, folder: Path, rows: str) -> Quotes:
    return quote(records, from_file(written(folder, rows)))


def test_one_row_says_what_is_the_jobs_for_all(tmp_path: Path) -> None:
    cracks = from_file(written(tmp_path, TWO + "B,B1,2,0.4,200,epoxy,dry,,,,\n")).cracks
    assert cracks.select("crack_id", "travel_minutes", "access").rows() == [
        ("A1", 40.0, "open"),
        ("A2", 40.0, "open"),
        ("B1", None, None),
    ]


def test_travel_said_once_costs_as_much_as_travel_said_in_each_row(records: Records, tmp_path: Path) -> None:
    [once] = found(records, tmp_path, TWO).jobs
    [each] = found(records, tmp_path, TWO.replace("dry,,", "dry,40,open")).jobs
    assert once == each


@pytest.mark.parametrize(
    ("rows", "column", "reason"),
    [
        (TWO.replace("dry,,", "dry,30,"), "travel_minutes", "travel 40, but 30 in row 2 of the same job"),
        (TWO.replace("700,", "700,1"), "cracks_on_job", "1 of 2 rows of job A; leave it blank, or count again"),
    ],
)
def test_what_is_shared_out_is_one_number_a_job(tmp_path: Path, rows: str, column: str, reason: str) -> None:
    [fault] = from_file(written(tmp_path, rows)).rejects
    assert (fault["column"], fault["reason"]) == (column, reason)


def test_rows_that_differ_in_what_may_differ_stay_as_they_are(tmp_path: Path) -> None:
    rows = TWO.replace("dry,,", "dry,40,tight")
    assert from_file(written(tmp_path, rows)).cracks["access"].to_list() == ["tight", "open"]


def test_a_whole_job_has_the_sums_and_the_price_of_its_cracks(records: Records, tmp_path: Path) -> None:
    quotes = found(records, tmp_path, TWO)
    [job] = quotes.jobs
    floors = [each.price.floor or Decimal(0) for each in quotes.quotes]
    assert (job.cracks, job.floor, job.price) == (2, sum(floors), Decimal(1000))
    assert job.margin == pytest.approx(1 - float(sum(floors)) / 1000)
    [table] = [part for part in quoted.build(quotes).parts if isinstance(part, Table) and part.title == quoted.JOBS]
    [row] = table.rows.rows(named=True)
    assert (row["job_id"], row["cracks"], row["price"]) == ("A", 2, 1000.0)
    assert row["floor"] == pytest.approx(float(sum(floors)))


def test_a_job_with_a_crack_without_a_price_has_none(records: Records, tmp_path: Path) -> None:
    [job] = found(records, tmp_path, TWO.replace(",300,", ",,")).jobs
    assert (job.price, job.margin) == (None, None)


TOO_NARROW = "A,A3,1.2,0.02,200,epoxy,damp,,,200,\n"


@pytest.mark.parametrize("more", ["", TOO_NARROW])
@pytest.mark.parametrize("rows", [TWO.replace("0.3", "wide"), TWO.replace("700,", "700,4")])
def test_a_job_of_which_a_crack_is_not_quoted_is_not_told_whole(
    records: Records, tmp_path: Path, rows: str, more: str
) -> None:
    quotes = found(records, tmp_path, rows + more)
    assert quotes.quotes
    assert quotes.jobs == []


def test_jobs_of_one_crack_each_are_not_listed_again(records: Records, tmp_path: Path) -> None:
    page = quoted.build(found(records, tmp_path, TWO.replace("A,A2", "B,A2")))
    assert not [part for part in page.parts if isinstance(part, Table) and part.title == quoted.JOBS]


def test_a_crack_that_is_not_one_to_inject_leaves_what_the_job_takes_once_to_the_others(
    records: Records, tmp_path: Path
) -> None:
    alone = found(records, tmp_path, TWO.splitlines(keepends=True)[0].replace("dry,,", "dry,40,open"))
    narrow = found(records, tmp_path, TWO.replace("0.3", "0.02"))
    assert [each.price.floor is None for each in narrow.quotes] == [False, True]
    [job], [whole] = narrow.jobs, alone.jobs
    assert (job.cracks, job.margin) == (1, None)
    assert job.floor == pytest.approx(whole.floor, abs=Decimal("0.01"))
