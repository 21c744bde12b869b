"""Calls that a row loaded after them does not fit any more: found, whatever brought that row."""

from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.answers import loading
from analytics.answers.loading import Loaded
from analytics.answers.records import Records
from analytics.pages import record, today, warned
from analytics.pages.page import Table, Words
from analytics.pages.within import every_part
from tests.histories import CRACK, DONE_JOB

CALL = {"callback_id": "B-1", "job_id": "J-1", "crack_id": "K-1", "reported_on": "2024-03-15", "finding": "leak_back"}
OTHER = {**DONE_JOB, "job_id": "J-2"}
HISTORY = {"jobs": [DONE_JOB, OTHER], "cracks": [CRACK, {**CRACK, "crack_id": "K-2", "job_id": "J-2"}]}


@pytest.mark.parametrize(
    ("later", "why"),
    [
        (
            {"jobs": [{**DONE_JOB, "status": "planned", "done_on": None, "planned_on": "2026-11-20"}]},
            "the job is planned, not done",
        ),
        ({"jobs": [{**DONE_JOB, "done_on": "2024-03-16"}]}, "reported before the job was done"),
        ({"jobs": [{**DONE_JOB, "done_on": "2024-03-15"}]}, None),
        ({"cracks": [{**CRACK, "job_id": "J-2"}]}, "crack K-1 is of job J-2 now"),
        ({"cracks": [{**CRACK, "width_mm": 0.7}]}, None),
    ],
)
def test_a_call_that_a_later_row_does_not_fit_is_listed(
    load_tables: Callable[..., Loaded], store_path: Path, later: dict[str, list[dict[str, object]]], why: str | None
) -> None:
    load_tables({**HISTORY, "callbacks": [CALL]})
    assert Records.of(store_path).ask("stray_calls").is_empty()
    assert load_tables(later, "later").tables[next(iter(later))].loaded == 1
    records = Records.of(store_path)
    assert dict(records.ask("stray_calls").select("callback_id", "why").rows()) == ({"B-1": why} if why else {})
    assert record.build(records, {}).answer.endswith("1 call does not fit its job.") is bool(why)
    parts = list(every_part(record.build(records, {}).parts))
    listed = [part for part in parts if isinstance(part, Table) and part.title == "Calls that do not fit their job"]
    assert [table.rows["why"].to_list() for table in listed] == ([[why]] if why else [])
    odd = warned.build(loading.warnings(records), records.ask("stray_calls"))
    assert ("1 call does not fit its job." in odd.answer) is bool(why)
    shown = [part.rows for part in every_part(odd.parts) if isinstance(part, Table)]
    assert [rows["why"].to_list() for rows in shown if "why" in rows.columns] == ([[why]] if why else [])
    said = [part.text for part in every_part(today.build(records, {}).parts) if isinstance(part, Words)]
    assert any("1 call does not fit its job, under Write down." in text for text in said) is bool(why)


def test_a_call_that_names_no_crack_fits_its_done_job(load_tables: Callable[..., Loaded], store_path: Path) -> None:
    load_tables({**HISTORY, "callbacks": [{**CALL, "crack_id": None}]})
    assert Records.of(store_path).ask("stray_calls").is_empty()
