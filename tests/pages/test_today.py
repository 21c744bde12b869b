"""The first page: what waits to be written down, for who may write it."""

from collections.abc import Callable
from pathlib import Path

from analytics.answers.loading import begin
from analytics.answers.records import Records
from analytics.pages import policy, today
from analytics.pages.page import Page, Section, Table, Words
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


def test_an_empty_store_says_where_us_units_are_chosen(store_path: Path) -> None:
    assert begin(store_path)
    said = [part.text for part in every_part(today.build(Records.of(store_path), {}).parts) if isinstance(part, Words)]
    [units] = [text for text in said if 'display = "us"' in text]
    name = units.partition("beside the store, as ")[2].partition(". ")[0]
    assert f"the page {policy.TITLE}" in units
    store_path.with_name(name).write_text('display = "us"', encoding="utf-8")
    assert Records.of(store_path).policy.display == "us"


def test_nothing_is_said_where_nothing_waits(records_of: Callable[..., Records]) -> None:
    assert waiting(today.build(records_of({"jobs": [DONE_JOB], "cracks": [CRACK]}), {})) == []


def test_who_may_not_open_that_page_is_not_sent_there(demo_store: Path) -> None:
    said = ["8 calls wait for a finding, under Write down."]
    assert waiting(dashboard.page(demo_store, "today", "owner", {})) == said
    assert waiting(dashboard.page(demo_store, "today", "viewer", {})) == []


def test_where_it_points_to_another_page_in_words_it_links_there(demo_store: Path) -> None:
    shown = [
        part for part in every_part(dashboard.page(demo_store, "today", "owner", {}).parts) if isinstance(part, Words)
    ]
    links = {path: words for part in shown for words, path in part.links}
    assert links == {"upcoming": "Upcoming jobs", "record": "Write down"}
    assert all(words in part.text for part in shown for words, _ in part.links)


def next_to_act_on(page: Page) -> dict[str, list[str]]:
    """The cracks listed, by the heading they stand under."""
    sections = [part for part in page.parts if isinstance(part, Section)]
    tables = [(each.title, part) for each in sections for part in each.parts if isinstance(part, Table)]
    return {title: table.rows["crack_id"].to_list() for title, table in tables if "needs" in table.rows.columns}


def test_work_of_the_week_ahead_comes_before_what_is_more_pressing_later(records_of: Callable[..., Records]) -> None:
    measured = {**CRACK, "direction": "vertical", "offset_mm": 0.0}
    days = {"J-2": "2024-01-22", "J-3": "2024-01-16", "J-4": "2024-01-16", "J-5": "2024-01-23", "J-6": "2024-01-10"}
    jobs = [{"job_id": job, "status": "planned", "planned_on": day} for job, day in days.items()]
    cracks = [
        {**CRACK, "job_id": "J-1"},
        {**measured, "crack_id": "K-2", "job_id": "J-2", "direction": "horizontal"},  # an engineer, on the seventh day
        {**measured, "crack_id": "K-3", "job_id": "J-3"},  # nothing
        {**measured, "crack_id": "K-4", "job_id": "J-4", "offset_mm": None},  # to be measured, tomorrow
        {**measured, "crack_id": "K-5", "job_id": "J-5", "direction": "horizontal"},  # an engineer, a day later
        {**measured, "crack_id": "K-6", "job_id": "J-6", "offset_mm": None},  # to be measured, its day past
    ]
    records = records_of({"jobs": [DONE_JOB, *jobs], "cracks": cracks})
    page = today.build(records, {})
    assert next_to_act_on(page) == {
        "Next to act on, for work by Mon 22 Jan": ["K-2", "K-6", "K-4"],
        "For later work, in the same order": ["K-5"],
    }
    first = next(part for part in page.parts if isinstance(part, Section))
    assert [part.text for part in first.parts if isinstance(part, Words)] == [today.ORDER]


def test_without_work_in_the_week_ahead_there_is_one_list(records_of: Callable[..., Records]) -> None:
    later = {"job_id": "J-2", "status": "planned", "planned_on": "2024-01-23"}
    records = records_of({"jobs": [DONE_JOB, later], "cracks": [CRACK, {**CRACK, "crack_id": "K-2", "job_id": "J-2"}]})
    assert next_to_act_on(today.build(records, {})) == {"Next to act on": ["K-2"]}


def test_a_first_page_that_asks_for_nothing_says_so(records_of: Callable[..., Records]) -> None:
    plain = {**CRACK, "crack_id": "K-2", "job_id": "J-2", "direction": "vertical", "offset_mm": 0.0}
    planned = {"job_id": "J-2", "status": "planned", "planned_on": "2024-01-22"}
    page = today.build(records_of({"jobs": [DONE_JOB, planned], "cracks": [CRACK, plain]}), {})
    first = next(part for part in page.parts if isinstance(part, Section))
    assert (first.title, first.parts[0]) == (today.NEXT, Words(today.NONE_NEEDS))
    assert next_to_act_on(page) == {}


def test_without_planned_work_nothing_is_listed_to_act_on(records_of: Callable[..., Records]) -> None:
    page = today.build(records_of({"jobs": [DONE_JOB], "cracks": [CRACK]}), {})
    assert page.answer.startswith("No crack is planned.")
    assert today.NEXT not in [part.title for part in page.parts if isinstance(part, Section)]


def test_the_demos_first_page_begins_with_next_weeks_work(demo_store: Path) -> None:
    soon, later = next_to_act_on(today.build(Records.of(demo_store), {})).values()
    assert soon[0] == "J-5011-1"
    assert later[0] == "J-4955-1"
    assert (len(soon), len(later)) == (5, today.MOST_LISTED)


def test_no_heading_stands_over_nothing_before_any_work_is_finished(records_of: Callable[..., Records]) -> None:
    planned = {"job_id": "J-1", "status": "planned", "planned_on": "2024-01-02"}
    page = today.build(records_of({"jobs": [planned], "cracks": [CRACK]}), {})
    titles = [part.title for part in page.parts if isinstance(part, Section)]
    assert "Done by year" in titles
    assert "How finished work is holding" not in titles
