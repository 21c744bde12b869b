from collections.abc import Callable
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from analytics.answers.loading import Loaded, load, rejects
from analytics.answers.records import Records
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError, UnknownNameError, UnreadableFileError
from analytics.intake import door
from analytics.intake.days import day_codes
from analytics.intake.sheet import Sheet, Written
from analytics.intake.typing_cells import typed
from tests.histories import CRACK, DONE_JOB, write_tables

Loader = Callable[..., Loaded]


def faults(store_path: Path) -> list[tuple[str, int, str, str]]:
    rows = rejects(Records.of(store_path)).select("table", "row", "column", "reason").rows()
    return [(str(table), int(row), str(column), str(reason)) for table, row, column, reason in rows]


def test_every_row_read_is_loaded_unchanged_or_rejected(load_tables: Loader) -> None:
    jobs = [DONE_JOB, DONE_JOB, {"job_id": "J-2", "status": "done"}, {"job_id": "J-3", "status": "planed"}]
    done = load_tables({"jobs": jobs, "cracks": [CRACK, {**CRACK, "crack_id": "K-2", "length_m": "abc"}]})
    for count in done.tables.values():
        assert count.read == count.loaded + count.unchanged + count.rejected
    assert done.tables["jobs"].loaded == 1
    assert done.tables["jobs"].unchanged == 1
    assert done.tables["jobs"].rejected == 2
    assert done.tables["cracks"].loaded == 1


def test_the_same_files_twice_change_nothing(load_tables: Loader, store_path: Path) -> None:
    tables = {"jobs": [DONE_JOB], "cracks": [CRACK]}
    load_tables(tables)
    before = Records.of(store_path).ask("follow_up")
    again = load_tables(tables)
    assert [(c.loaded, c.unchanged) for c in again.tables.values()] == [(0, 1), (0, 1)]
    assert Records.of(store_path).ask("follow_up").equals(before)


@pytest.mark.parametrize(
    ("column", "cell", "said"),
    [
        ("length_m", "0", "over 0 and at most 50 m"),
        ("length_m", "1/8", "is a fraction"),
        ("length_m", "nan", "is not a number"),
        ("length_m", "inf", "is not a number"),
        ("length_m", "1e999", "is not a number"),
        ("length_m", "2 m", "without its unit"),
        ("width_mm", "100.5", "at most 100 mm"),
        ("wall_thickness_mm", "74", "at least 75 and at most 1500 mm"),
        ("direction", "vertcal", "did you mean vertical?"),
        ("port_count", "3.5", "is not a whole number"),
        ("cleaned", "maybe", "neither true nor false"),
        ("crack_id", "crack at the stairs", "without spaces"),
        ("job_id", "J-9", "no job J-9 is loaded"),
    ],
)
def test_a_faulty_cell_is_named_with_its_row_and_what_to_do(
    load_tables: Loader, store_path: Path, column: str, cell: str, said: str
) -> None:
    load_tables({"jobs": [DONE_JOB], "cracks": [{**CRACK, "crack_id": "K-0"}, {**CRACK, column: cell}]})
    [(table, row, at, reason)] = faults(store_path)
    assert (table, row, at) == ("cracks", 3, column)
    assert said in reason


@pytest.mark.parametrize(
    ("column", "cell", "said"),
    [
        ("done_on", "03/04/2025", "year-month-day"),
        ("done_on", "2025-02-30", "year-month-day"),
        ("done_on", "2026-11-02", "after the day of this load"),
        ("done_on", None, "A done job needs the day it was done"),
        ("crew_id", None, "A done job needs the crew"),
        ("price_quoted", "99.999", "at most 2 decimals"),
        ("price_quoted", "-1", "at least 0"),
        ("warranty_months", "-6", "at least 0"),
        (
            "warranty_months",
            "lifetime",
            "“lifetime” is not a whole number; a blank cell means as long as the owner holds the house",
        ),
    ],
)
def test_a_job_is_held_to_the_calendar_and_to_what_its_status_needs(
    load_tables: Loader, store_path: Path, column: str, cell: str | None, said: str
) -> None:
    load_tables({"jobs": [{**DONE_JOB, column: cell}]})
    [(_, row, at, reason)] = faults(store_path)
    assert (row, at) == (2, column)
    assert said in reason


def test_all_faults_of_a_row_are_named_together(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB], "cracks": [{**CRACK, "length_m": "x", "width_mm": 200, "resin": "glue"}]})
    assert {column for _, _, column, _ in faults(store_path)} == {"length_m", "width_mm", "resin"}


def test_one_key_with_two_values_rejects_both_rows(load_tables: Loader, store_path: Path) -> None:
    done = load_tables({"jobs": [DONE_JOB, {**DONE_JOB, "crew_id": "C02"}]})
    assert done.tables["jobs"].rejected == 2
    assert [row for _, row, _, _ in faults(store_path)] == [2, 3]


def test_rows_that_differ_in_nothing_are_one_row_though_it_cannot_be_read(
    load_tables: Loader, store_path: Path
) -> None:
    unread = {**DONE_JOB, "done_on": "17 Jan 24"}
    done = load_tables({"jobs": [unread, unread]})
    assert (done.tables["jobs"].unchanged, done.tables["jobs"].rejected) == (1, 1)
    [(_, row, column, _)] = faults(store_path)
    assert (row, column) == (2, "done_on")
    assert rejects(Records.of(store_path))["key"].to_list() == ["J-1"]


@pytest.mark.parametrize("other", [{"done_on": "18 Jan 24"}, {"done_on": "2024-01-17"}, {"crew_id": "C02"}])
def test_rows_of_one_number_that_differ_are_both_rejected_and_their_number_told(
    load_tables: Loader, store_path: Path, other: dict[str, str]
) -> None:
    unread = {**DONE_JOB, "done_on": "17 Jan 24"}
    assert load_tables({"jobs": [unread, {**unread, **other}]}).tables["jobs"].rejected == 2
    said = [reason for _, _, column, reason in faults(store_path) if column == "job_id"]
    assert said == ["another row of this load has the same job_id and other values (J-1); keep the right one"] * 2


def test_rows_whose_cells_may_have_shifted_are_never_one_row(store_path: Path, tmp_path: Path) -> None:
    file = tmp_path / "jobs.csv"
    file.write_text("job_id,status\nJ-1,lost,late\nJ-1,lost,early\n", encoding="utf-8")
    assert load(store_path, [file]).tables["jobs"].rejected == 2


def test_a_callback_must_be_about_finished_work_and_a_crack_of_that_job(load_tables: Loader, store_path: Path) -> None:
    call = {"callback_id": "B-1", "job_id": "J-1", "reported_on": "2024-03-01", "finding": "leak_back"}
    planned = {"job_id": "J-2", "status": "planned", "planned_on": "2026-12-01"}
    calls = [
        call,
        {**call, "callback_id": "B-2", "job_id": "J-2"},
        {**call, "callback_id": "B-3", "reported_on": "2024-01-14"},
        {**call, "callback_id": "B-4", "crack_id": "K-7"},
    ]
    done = load_tables({"jobs": [DONE_JOB, planned], "cracks": [CRACK], "callbacks": calls})
    assert done.tables["callbacks"].loaded == 1
    said = [reason for _, _, _, reason in faults(store_path)]
    assert ["not done" in said[0], "before the job was done" in said[1], "has no crack K-7" in said[2]] == [True] * 3


def test_a_decided_review_is_never_rewritten(load_tables: Loader) -> None:
    base = {"jobs": [DONE_JOB], "cracks": [CRACK]}
    asked = {"review_id": "R-1", "crack_id": "K-1", "asked_on": "2024-01-03", "decided_on": None, "decision": None}
    decided = {**asked, "decided_on": "2024-01-08", "decision": "inject"}
    load_tables({**base, "reviews": [asked]})
    assert load_tables({"reviews": [decided]}, "decided").tables["reviews"].loaded == 1
    assert load_tables({"reviews": [decided]}, "again").tables["reviews"].unchanged == 1
    assert load_tables({"reviews": [{**decided, "decision": "monitor"}]}, "rewrite").tables["reviews"].rejected == 1


def test_a_later_row_replaces_and_a_missing_column_keeps_what_was_known(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [DONE_JOB], "cracks": [{**CRACK, "resin": "epoxy"}]})
    load_tables({"cracks": [{**CRACK, "length_m": 3}]}, "later")
    [row] = Records.of(store_path).ask("follow_up").select("length_m", "resin").rows()
    assert row == (3.0, "epoxy")


def test_columns_outside_the_contract_are_dropped_and_named(load_tables: Loader, store_path: Path) -> None:
    done = load_tables({"jobs": [{**DONE_JOB, "customer_phone": "555 0100", "resin_litres": 3}]})
    assert done.dropped_columns == ("customer_phone", "resin_litres")
    assert b"555 0100" not in store_path.read_bytes()


def test_strict_loads_nothing_and_leaves_no_store(load_tables: Loader, store_path: Path) -> None:
    with pytest.raises(LeakbackError, match="1 row would be rejected"):
        load_tables({"jobs": [DONE_JOB, {"job_id": "J-2", "status": "done", "crew_id": "C1"}]}, strict=True)
    assert not store_path.exists()


def test_unusable_files_are_one_clear_error_and_make_no_store(tmp_path: Path, store_path: Path) -> None:
    folder = write_tables(tmp_path / "f", {"jobs": [{"status": "done"}]})
    with pytest.raises(UnreadableFileError, match="missing 1 required column \\(job_id\\)"):
        load(store_path, [folder])
    (folder / "jobs.csv").rename(folder / "job.csv")
    with pytest.raises(UnknownNameError, match=r"unknown table name in job\.csv 'job': did you mean jobs\?"):
        load(store_path, [folder])
    (folder / "job.csv").rename(folder / "things.csv")
    with pytest.raises(UnknownNameError, match=r"in things\.csv 'things': it is one of callbacks, cracks, jobs, rates"):
        load(store_path, [folder])
    with pytest.raises(UnreadableFileError, match="no such file or folder"):
        load(store_path, [tmp_path / "nowhere"])
    (folder / "things.csv").rename(folder / "jobs.csv")
    (folder / "jobs.csv").write_text('job_id,status\nJ-1,"done\nJ-2,done\nJ-3,done\nJ-4,done\nJ-5,done\n')
    with pytest.raises(UnreadableFileError, match="row 2"):
        load(store_path, [folder])
    assert not store_path.exists()


def test_a_short_row_is_rejected_not_shifted(tmp_path: Path, store_path: Path) -> None:
    folder = tmp_path / "f"
    folder.mkdir()
    (folder / "jobs.csv").write_text("job_id,crew_id,status\nJ-1,C1,lost\nJ-2,lost\n\nJ-3,C1,lost\n")
    done = load(store_path, [folder])
    assert (done.tables["jobs"].read, done.tables["jobs"].loaded, done.tables["jobs"].rejected) == (3, 2, 1)
    assert "the row has 2 cells, the header 3" in [reason for _, _, _, reason in faults(store_path)]
    assert {row for _, row, _, _ in faults(store_path)} == {3}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_dialects_and_encodings_read_alike(tmp_path: Path, store_path: Path, encoding: str, delimiter: str) -> None:
    comma = "," if delimiter != "," else "."
    jobs = [["job_id", "branch", "status", "travel_minutes"], ["J-1", "Zürich", "lost", f"30{comma}5"]]
    (tmp_path / "jobs.csv").write_bytes("\r\n".join(delimiter.join(row) for row in jobs).encode(encoding))
    load(store_path, [tmp_path / "jobs.csv"])
    rows = Records.of(store_path).store.frame("select branch, travel_minutes from jobs").rows()
    assert rows == [("Zürich", 30.5)]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("MM/DD/YYYY", "“17 Jan 24” is not a day written MM/DD/YYYY, as 03/31/2026"),
        ("%d.%m.%y", "is not a day written DD.MM.YY, as 31.03.26"),
        ("D MMM YYYY", "is not a day written DD MMM YYYY, as 31 Mar 2026"),
        ("%A %d/%m", "is not a day written as Tuesday 31/03"),
        ("day numbers", "is not a day number, as 46112 for 2026-03-31"),
        ("", "is not a day written year-month-day, as 2026-03-31"),
    ],
)
def test_how_a_day_is_written_is_said_in_a_persons_letters(written: str, said: str) -> None:
    values, faults = typed(
        pl.Series(["17 Jan 24"]), TABLES["jobs"].columns()["done_on"], Written(day_format=day_codes(written))
    )
    assert values.to_list() == [None]
    assert said in faults[0]


@pytest.mark.parametrize("cell", ["2999-01-01", "1949-12-31", "2026-02-30", "2026-31-12"])
@pytest.mark.parametrize("written", ["", "MM/DD/YYYY", "day numbers"])
def test_a_day_written_year_month_day_is_not_told_to_be_written_otherwise(cell: str, written: str) -> None:
    done_on = TABLES["jobs"].columns()["done_on"]
    _, faults = typed(pl.Series([cell]), done_on, Written(day_format=day_codes(written)))
    assert faults[0] == f"“{cell}” is no day from 1950 to 2100, read as year-month-day; mend it"


def test_only_the_cells_of_rows_that_could_not_be_read_are_put_together(monkeypatch: pytest.MonkeyPatch) -> None:
    cells = pl.DataFrame({"job_id": [f"J-{row}" for row in range(2, 8)], "status": ["done"] * 6})
    sheet = Sheet(("jobs",), "jobs.csv", "", cells, pl.Series(range(2, 8)), table="jobs")
    faults = pl.DataFrame({"row": [3, 6, 6], "column": ["status", "", "job_id"]})
    heights = []
    select = pl.DataFrame.select

    def counting(frame: pl.DataFrame, *columns: Any, **named: Any) -> pl.DataFrame:
        heights.append(frame.height)
        return select(frame, *columns, **named)

    monkeypatch.setattr(pl.DataFrame, "select", counting)
    unread = door._as_written(sheet, faults)
    monkeypatch.undo()
    assert unread.to_list() == [None, "job_id:J-3\0status:done", None, None, "jobs.csv 6", None]
    assert max(heights) == 2
