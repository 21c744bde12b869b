"""A month's facts from a small history whose answers are worked out by hand."""

from datetime import date

import pytest

from analytics.answers.loading import load
from analytics.answers.monthly import month_of, work_of
from analytics.answers.records import Records
from analytics.contract.month import Month
from analytics.errors import LeakbackError
from tests.histories import CRACK, DONE_JOB, TODAY, Tables, write_tables

TABLES: Tables = {
    "jobs": [
        DONE_JOB | {"warranty_months": 12},
        DONE_JOB | {"job_id": "J-2", "done_on": "2024-03-05"},
        DONE_JOB | {"job_id": "J-3", "done_on": "2024-03-31"},
        DONE_JOB | {"job_id": "J-4", "done_on": "2025-06-01"},
    ],
    "cracks": [
        CRACK | {"resin": "epoxy", "resin_litres": 0.5},
        CRACK | {"crack_id": "K-2", "job_id": "J-2", "resin_litres": 0.25, "labour_minutes": 90},
        CRACK | {"crack_id": "K-3", "job_id": "J-3", "width_mm": None},
        CRACK | {"crack_id": "K-4", "job_id": "J-4"},
    ],
    "callbacks": [
        {"callback_id": "B-1", "job_id": "J-1", "reported_on": "2024-03-15", "finding": "leak_back"},
        {"callback_id": "B-2", "job_id": "J-2", "reported_on": "2024-03-20", "finding": "condensation"},
        {"callback_id": "B-3", "job_id": "J-2", "reported_on": "2024-03-31", "finding": None},
        {"callback_id": "B-4", "job_id": "J-1", "reported_on": "2025-03-02", "finding": "leak_back"},
    ],
}


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Records:
    folder = tmp_path_factory.mktemp("months")
    load(folder / "store.duckdb", [write_tables(folder / "files", TABLES)], today=TODAY)
    return Records.of(folder / "store.duckdb")


def test_what_was_done_called_about_and_leaked_back(records: Records) -> None:
    found = work_of(records, Month(2024, 3))
    assert sorted(found.done["crack_id"]) == ["K-2", "K-3"]
    assert dict(found.calls.iter_rows()) == {"condensation": 1, "leak_back": 1, "not looked at yet": 1}
    [row] = found.leak_backs.to_dicts()
    assert (row["crack_id"], row["done_on"], row["under_warranty"]) == ("K-1", date(2024, 1, 15), True)
    # 15 January to 15 March 2024 is 60 days; a month is 365.25 / 12 days
    assert row["age_months"] == pytest.approx(60 / (365.25 / 12))


def test_it_is_read_as_the_records_stood_at_the_months_end(records: Records) -> None:
    found = work_of(records, Month(2024, 3))
    assert (found.as_of, found.latest) == (date(2024, 3, 31), False)
    assert work_of(records, Month(2025, 6)).latest


def test_a_leak_back_after_the_warranty_is_listed_and_marked(records: Records) -> None:
    [row] = work_of(records, Month(2025, 3)).leak_backs.to_dicts()
    assert (row["callback_id"], row["under_warranty"]) == ("B-4", False)


def test_how_much_was_written_down(records: Records) -> None:
    rows = {row["what"]: row for row in work_of(records, Month(2024, 3)).written.to_dicts()}
    assert (rows["width"]["recorded"], rows["width"]["cracks"], rows["width"]["share"]) == (1, 2, 0.5)
    assert rows["labour"]["share"] == 0.5
    assert rows["wall temperature"]["recorded"] == 0


def test_a_month_without_work_is_empty_and_has_no_share(records: Records) -> None:
    found = work_of(records, Month(2024, 8))
    assert found.done.is_empty()
    assert found.leak_backs.is_empty()
    assert found.written["share"].null_count() == found.written.height


def test_the_month_is_the_records_last_one_unless_asked(records: Records) -> None:
    assert month_of(records) == Month(2025, 6)
    assert month_of(records, "2024-03") == Month(2024, 3)
    with pytest.raises(LeakbackError, match="reach only to 2025-06-01"):
        month_of(records, "2025-07")
