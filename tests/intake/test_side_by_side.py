"""Files read and tables typed beside each other: the outcome is that of one after the other."""

import time

import pytest

from analytics.errors import UnknownNameError, UnreadableFileError
from analytics.intake import door
from analytics.intake.sheet import Sheet
from tests.intake.brought import brought, csv_bytes

JOBS = [("job_id", "crew_id", "site_id", "status", "done_on"), ("J-1", "Robin Example", "7 Invented Lane", "done", "x")]
JOBS += [(f"J-{n}", "Robin Example", f"{n} Invented Lane", "done", "2025-05-05") for n in range(2, 9)]
CRACKS = [("crack_id", "job_id", "length_m"), ("K-1", "J-1", "2"), ("K-2", "J-2", "long"), ("K-3", "J-3", "20")]
CALLS = [("callback_id", "job_id", "crack_id", "reported_on"), ("B-1", "J-3", "K-3", "2025-05-04")]
FILES = {"jobs.csv": csv_bytes(JOBS), "cracks.csv": csv_bytes(CRACKS), "callbacks.csv": csv_bytes(CALLS)}


def test_the_batch_is_the_same_in_the_same_order(monkeypatch: pytest.MonkeyPatch) -> None:
    beside = brought(FILES)
    monkeypatch.setattr(door, "AT_ONCE", 1)
    after = brought(FILES)
    assert beside.files == after.files
    assert [fault[:3] for fault in beside.rejects.rows()] == [
        ("jobs", "jobs.csv", 2),
        ("cracks", "cracks.csv", 2),
        ("cracks", "cracks.csv", 3),
        ("callbacks", "callbacks.csv", 2),
    ]
    for one, other in zip(beside.tables.values(), after.tables.values(), strict=True):
        assert one.clean.equals(other.clean)
        assert one.waiting.equals(other.waiting)
        assert one.warnings.equals(other.warnings)
    assert beside.rejects.equals(after.rejects)


def test_of_two_files_that_cannot_be_read_the_first_is_named() -> None:
    with pytest.raises(UnreadableFileError, match=r"jobs\.csv: missing 1 required column"):
        brought({"jobs.csv": csv_bytes([("job_id", "branch"), *([("J", "East")] * 20_000)]), "cracks.csv": b""})
    with pytest.raises(UnreadableFileError, match=r"cracks\.csv: empty"):
        brought({"cracks.csv": b"", "jobs.csv": csv_bytes([("job_id", "branch"), ("J-1", "East")])})


def test_of_two_tables_that_fail_the_first_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(sheet: Sheet, *_: object) -> None:
        time.sleep(0.05 if sheet.table == "jobs" else 0)
        raise UnknownNameError("table", sheet.table, ["none"])

    monkeypatch.setattr(door, "typed_sheet", failing)
    with pytest.raises(UnknownNameError, match="jobs"):
        brought(FILES)
