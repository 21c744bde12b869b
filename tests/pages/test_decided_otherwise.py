"""An engineer has decided not to inject: the flag stays, and no list says any more that an engineer is waited for."""

from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import flagging, recording
from analytics.answers.flagging import Flags
from analytics.answers.loading import load
from analytics.answers.records import Records
from analytics.contract.rules import DO_NOT_INJECT
from analytics.pages import job_sheet, record, today, upcoming, weeks_ahead
from analytics.pages.page import Page, Section, Table, Words
from analytics.pages.within import every_part
from analytics.render.cells import cell
from tests.histories import CRACK, DONE_JOB, TODAY, Tables, write_tables

PLANNED = {"site_id": "S-2", "crew_id": "C01", "status": "planned", "planned_on": "2026-12-01"}
DECIDED, WAITING = "J-2-1", "J-3-1"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two planned cracks too wide for an injection without an engineer; of one an engineer has said to watch it."""
    folder = tmp_path_factory.mktemp("decided")
    wide = {**CRACK, "width_mm": 9}
    tables: Tables = {
        "jobs": [DONE_JOB, *({**PLANNED, "job_id": job} for job in ("J-2", "J-3"))],
        "cracks": [CRACK, *({**wide, "crack_id": f"{job}-1", "job_id": job} for job in ("J-2", "J-3"))],
    }
    load(folder / "store.duckdb", [write_tables(folder / "files", tables)], today=TODAY)
    typed = {"decided_on": "2026-10-01", "decision": "monitor"}
    recording.record_decision(folder / "store.duckdb", "J-2", DECIDED, typed)
    return folder / "store.duckdb"


@pytest.fixture
def records(store: Path) -> Records:
    return Records.of(store)


@pytest.fixture
def found(records: Records) -> Flags:
    return flagging.flags(records)


def said(page: Page, title: str) -> dict[str, str]:
    """What a list says each crack needs."""
    (table,) = (part for part in every_part(page.parts) if isinstance(part, Table) and part.title == title)
    (column,) = (column for column in table.columns if column.kind == "action")
    return {str(row["crack_id"]): cell(column, row).main for row in table.rows.to_dicts()}


def test_the_flag_stays(found: Flags) -> None:
    assert {flag.crack_id: flag.action for flag in found.flags} == dict.fromkeys((DECIDED, WAITING), "engineer_review")
    rows = found.answer()["rows"]
    assert isinstance(rows, list)
    assert {row["action"] for row in rows} == {"engineer_review"}


@pytest.mark.parametrize(("page", "title"), [(upcoming, "Planned cracks"), (today, today.NEXT)])
def test_every_list_says_what_was_decided(records: Records, page: object, title: str) -> None:
    built = page.build(records, {})  # type: ignore[attr-defined]
    assert said(built, title) == {DECIDED: "× do not inject", WAITING: "◆ engineer first"}
    assert " 1 is not to be injected: decided by an engineer" in built.answer


def test_only_who_waits_is_counted_as_waiting(records: Records) -> None:
    assert upcoming.build(records, {}).answer.startswith("Of 2 planned cracks, 1 needs an engineer first. ")
    assert today.build(records, {}).answer.startswith(
        "1 of 2 planned cracks needs something before the work, 1 of them an engineer. 1 is not to be injected: "
    )
    assert upcoming.decided(0) == ""


def test_the_lists_can_be_narrowed_to_either(records: Records) -> None:
    for needs, crack in ((DO_NOT_INJECT, DECIDED), ("engineer_review", WAITING)):
        assert set(said(upcoming.build(records, {"needs": needs}), "Planned cracks")) == {crack}


def test_the_weeks_ahead_count_it_apart(found: Flags) -> None:
    def ahead(flags: Flags) -> Table:
        page = Page("", weeks_ahead.load(weeks_ahead.with_week(upcoming.listed(flags))))
        (table,) = (part for part in every_part(page.parts) if isinstance(part, Table))
        return table

    labels = {column.label: column.key for column in ahead(found).columns}
    assert {"engineer first", "do not inject"} <= set(labels)
    [week] = ahead(found).rows.to_dicts()
    assert (week[labels["engineer first"]], week[labels["do not inject"]]) == (1, 1)
    waits = [flag for flag in found.flags if flag.crack_id == WAITING]
    waiting = replace(found, flags=waits, planned=found.planned.filter(pl.col("crack_id") == WAITING))
    assert "do not inject" not in {column.label for column in ahead(waiting).columns}


def test_the_job_sheet_and_the_page_to_write_down_say_it(records: Records, found: Flags) -> None:
    (page,) = job_sheet.build(found, "J-2").pages
    assert [part.title for part in page.parts if isinstance(part, Section)] == [f"Crack {DECIDED}: × do not inject"]
    stops = [part.text for part in page.parts if isinstance(part, Words) and part.tone == "stop"]
    assert stops == [f"× Stop: an engineer decided that this is not injected: {DECIDED}."]
    first = record.build(records, {"job_id": "J-2"}).parts[0]
    assert isinstance(first, Section)
    assert first.title == f"{DECIDED}: an engineer decided not to inject"
