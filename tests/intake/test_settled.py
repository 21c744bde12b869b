"""What a mended row brings: rows that missed it are told that it is there, and its old file says nothing new of it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from analytics.answers import mending
from analytics.answers.loading import Loaded, load, rejects, undo
from analytics.answers.records import Records
from analytics.contract.batch import TableCount
from analytics.intake import settled
from tests.histories import CRACK, DONE_JOB, TODAY

Loader = Callable[..., Loaded]
UNREAD = {**DONE_JOB, "done_on": "17 Jan 24"}
CALL = {"callback_id": "B-1", "job_id": "J-1", "crack_id": "K-1", "reported_on": "2024-03-01", "finding": "leak_back"}
ASKED = {"review_id": "R-1", "crack_id": "K-1", "asked_on": "2024-01-03", "decided_on": None, "decision": None}
TABLES = {"jobs": [UNREAD], "cracks": [CRACK], "callbacks": [CALL], "reviews": [ASKED]}


def mend(store: Path, column: str, said: str, table: str = "jobs") -> Loaded:
    written = store.with_name("list.csv")
    written.unlink(missing_ok=True)
    mending.write_work_list(Records.of(store), written, "csv")
    its = (pl.col("column") == column) & (pl.col("table") == table)
    pl.read_csv(written, infer_schema=False).with_columns(mended=pl.when(its).then(pl.lit(said))).write_csv(written)
    return load(store, [written], today=TODAY)


def listed(store: Path) -> list[tuple[str, str, str, str | None]]:
    return rejects(Records.of(store)).select("table", "column", "reason", "nearest").rows()


@pytest.fixture
def mended(load_tables: Loader, store_path: Path) -> Path:
    """A store whose job was rejected, with all that is about it, and is mended now."""
    load_tables(TABLES)
    assert mend(store_path, "done_on", "2024-01-17").tables["jobs"].loaded == 1
    return store_path


def test_a_row_that_missed_one_is_told_once_that_is_loaded(mended: Path) -> None:
    now = "job J-1 is loaded now: load this row's file again, or write J-1 under mended"
    assert ("cracks", "job_id", now, "J-1") in listed(mended)
    assert ("callbacks", "job_id", now, "J-1") in listed(mended)
    assert mend(mended, "job_id", "J-1", "cracks").tables["cracks"].loaded == 1
    found = "crack K-1 is loaded now: load this row's file again, or write K-1 under mended"
    assert [line for line in listed(mended) if line[1] == "crack_id"] == [
        ("callbacks", "crack_id", found, "K-1"),
        ("reviews", "crack_id", found, "K-1"),
    ]


def test_a_call_about_a_job_that_is_done_now_is_told_so(load_tables: Loader, store_path: Path) -> None:
    call = {**CALL, "crack_id": None}
    load_tables({"jobs": [{"job_id": "J-1", "status": "planned", "planned_on": "2026-12-01"}], "callbacks": [call]})
    assert "is planned, not done" in listed(store_path)[0][2]
    load_tables({"jobs": [DONE_JOB]}, "done")
    assert listed(store_path)[0][2].startswith("job J-1 is done now")


def test_the_file_loaded_again_brings_what_was_missing_and_no_mended_row_back(
    load_tables: Loader, mended: Path
) -> None:
    again = load_tables(TABLES)
    assert again.tables["jobs"] == TableCount(read=1, loaded=0, unchanged=1, rejected=0)
    assert [again.tables[name].loaded for name in ("cracks", "callbacks", "reviews")] == [1, 1, 1]
    assert listed(mended) == []
    undo(mended)
    undo(mended)
    assert load_tables(TABLES).tables["jobs"].rejected == 1


@pytest.mark.usefixtures("mended")
def test_only_rows_like_one_that_was_mended_are_looked_at_one_by_one(
    load_tables: Loader, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked_at: list[list[int]] = []
    rows = settled._rows

    def looking(faults: pl.DataFrame, by: tuple[str, ...]) -> Any:
        looked_at.append(faults["row"].to_list())
        return rows(faults, by)

    monkeypatch.setattr(settled, "_rows", looking)
    others = [{**UNREAD, "job_id": f"J-{number}"} for number in (2, 3, 4)]
    again = load_tables({"jobs": [*others, UNREAD]}, "more")
    assert again.tables["jobs"] == TableCount(read=4, loaded=0, unchanged=1, rejected=3)
    assert looked_at == [[2], [5]]
    looked_at.clear()
    assert load_tables({"jobs": others}, "others").tables["jobs"].rejected == 3
    assert looked_at == [[], []]


@pytest.mark.parametrize("changed", [{"done_on": "18 Jan 24"}, {"crew_id": "C02"}, {"quoted_on": "2 Jan 24"}])
def test_a_mended_row_whose_cells_have_changed_since_is_listed_again(
    load_tables: Loader, mended: Path, changed: dict[str, str]
) -> None:
    assert load_tables({"jobs": [{**UNREAD, **changed}]}, "changed").tables["jobs"].rejected == 1
    assert "jobs" in {table for table, *_ in listed(mended)}


def test_a_row_whose_cell_was_not_kept_is_listed_again(load_tables: Loader, store_path: Path) -> None:
    unkept = {"jobs": [{**DONE_JOB, "done_on": "the day Robin called"}]}
    load_tables(unkept)
    mend(store_path, "done_on", "2024-01-17")
    assert load_tables(unkept).tables["jobs"].rejected == 1


def test_a_row_mended_wrongly_waits_however_often_its_file_is_loaded(load_tables: Loader, store_path: Path) -> None:
    load_tables({"jobs": [UNREAD]})
    assert mend(store_path, "done_on", "2027-01-17").tables["jobs"].rejected == 1
    assert load_tables({"jobs": [UNREAD]}).tables["jobs"].rejected == 1
    assert [table for table, *_ in listed(store_path)] == ["jobs"]
