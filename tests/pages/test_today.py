"""The first page: what waits to be written down, for who may write it."""

from collections.abc import Callable
from pathlib import Path

from analytics.answers.records import Records
from analytics.pages import today
from analytics.pages.page import Page, Words
from analytics.pages.within import every_part
from analytics.render import dashboard
from tests.histories import CRACK, DONE_JOB


def waiting(page: Page) -> list[str]:
    return [part.text for part in every_part(page.parts) if isinstance(part, Words) and "under Write down" in part.text]


def test_jobs_whose_day_is_past_and_calls_without_a_finding_are_counted(records_of: Callable[..., Records]) -> None:
    planned = {"job_id": "J-2", "status": "planned", "planned_on": "2024-01-02"}
    call = {"callback_id": "B-1", "job_id": "J-1", "reported_on": "2024-03-01"}
    cracks = [CRACK, CRACK | {"crack_id": "K-2", "job_id": "J-2"}]
    records = records_of({"jobs": [DONE_JOB, planned], "cracks": cracks, "callbacks": [call]})
    said = waiting(today.build(records, {}))
    assert said == ["1 planned job's day is past, 1 call waits for a finding, under Write down."]


def test_nothing_is_said_where_nothing_waits(records_of: Callable[..., Records]) -> None:
    assert waiting(today.build(records_of({"jobs": [DONE_JOB], "cracks": [CRACK]}), {})) == []


def test_who_may_not_open_that_page_is_not_sent_there(demo_store: Path) -> None:
    said = ["8 calls wait for a finding, under Write down."]
    assert waiting(dashboard.page(demo_store, "today", "owner", {})) == said
    assert waiting(dashboard.page(demo_store, "today", "viewer", {})) == []
