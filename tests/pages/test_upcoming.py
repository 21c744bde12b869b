"""The upcoming jobs as data: what is said where nothing is planned."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import flagging
from analytics.answers.records import Records
from analytics.pages import crews, holdings, job_sheet, record, referral, today, upcoming, weeks_ahead
from analytics.pages.page import Downloads, Section, Table, Words
from analytics.pages.within import every_part
from tests.histories import CRACK, DONE_JOB

PLANNED = {"job_id": "J-2", "crew_id": "Mike", "status": "planned", "planned_on": "2026-11-20"}


@pytest.mark.parametrize("order", ["pressing", "week"])
def test_that_nothing_is_planned_is_said_once(records_of: Callable[..., Records], order: str) -> None:
    records = records_of({"jobs": [DONE_JOB], "cracks": [CRACK]})
    listed = upcoming.build_list(flagging.flags(records), everything=True)
    for page in (listed, upcoming.build(records, {"order": order})):
        assert page.answer == "No planned cracks."
        shown = [part for part in every_part(page.parts) if isinstance(part, Table | Words)]
        said = [part.text if isinstance(part, Words) else part.empty for part in shown]
        assert not any("planned crack is like that" in text for text in said)


def test_a_job_without_a_crew_is_no_crew_more(records_of: Callable[..., Records]) -> None:
    jobs = [DONE_JOB, PLANNED, {**PLANNED, "job_id": "J-3", "crew_id": None}]
    records = records_of({"jobs": jobs, "cracks": [{**CRACK, "crack_id": f"K-{n}", "job_id": f"J-{n}"} for n in "123"]})
    page = upcoming.build(records, {"order": "week", "needs": "every"})
    week, ahead = (part for part in page.parts if isinstance(part, Section) and "eek" in part.title)
    assert week.title == "Week of Mon 16 Nov: 2 jobs, 2 cracks, 1 crew"
    [listed], [counted] = ([part for part in each.parts if isinstance(part, Table)] for each in (week, ahead))
    assert listed.rows["crew_id"].to_list()[-1] == weeks_ahead.NO_CREW
    assert counted.rows.select("jobs", "crews").rows() == [(2, 1)]


def test_a_week_says_how_many_of_its_jobs_are_listed(records_of: Callable[..., Records]) -> None:
    jobs = [DONE_JOB, PLANNED, {**PLANNED, "job_id": "J-3"}]
    standard = {**CRACK, "crack_id": "K-3", "job_id": "J-3", "direction": "vertical", "offset_mm": 0}
    records = records_of({"jobs": jobs, "cracks": [CRACK, {**CRACK, "crack_id": "K-2", "job_id": "J-2"}, standard]})
    [week] = [part for part in upcoming.build(records, {"order": "week"}).parts if isinstance(part, Section)][:1]
    assert week.title == "Week of Mon 16 Nov: 1 of 2 jobs, 1 of 2 cracks, 1 crew"
    [sheets] = [part for part in week.parts if isinstance(part, Downloads)]
    assert sheets.rows[0].label.startswith("Print the sheets of 2 jobs ")


def test_the_sentence_counts_what_is_asked_for(demo_store: Path) -> None:
    records = Records.of(demo_store)
    whole = upcoming.build(records, {"needs": "extra_prep"}).answer
    assert whole.startswith("Of 94 planned cracks, 7 need an engineer first, ")
    week = upcoming.build(records, {"week": "2026-11-02"}).answer
    assert week == ("Of 13 planned cracks in the week of Mon 2 Nov, 4 need extra prep and 1 must be measured first.")
    crew = upcoming.build(records, {"week": "2026-11-02", "crew": "C01", "branch": "East"}).answer
    planned = records.ask("planned_cracks").filter(crew_id="C01", branch="East")
    assert planned.filter(pl.col("planned_on").is_between(date(2026, 11, 2), date(2026, 11, 8))).height == 3
    assert crew.startswith(
        "Of 3 planned cracks in the week of Mon 2 Nov, branch East, crew C01, 1 must be measured first."
    )
    none = upcoming.build(records, {"week": "2026-12-07", "crew": "C01"}).answer
    assert none == "No planned crack in the week of Mon 7 Dec, crew C01."


def test_that_none_needs_anything_is_said_in_one_word(records_of: Callable[..., Records]) -> None:
    standard = {**CRACK, "crack_id": "K-2", "job_id": "J-2", "direction": "vertical", "offset_mm": 0}
    records = records_of({"jobs": [DONE_JOB, PLANNED], "cracks": [CRACK, standard]})
    assert upcoming.build(records, {}).answer == "Of 1 planned crack, none needs anything before the work."


def test_a_crew_that_goes_by_a_code_is_called_a_crew_once(records_of: Callable[..., Records]) -> None:
    cracks = [CRACK, {**CRACK, "crack_id": "K-2", "job_id": "J-2"}]
    records = records_of({"jobs": [{**DONE_JOB, "crew_id": "Mike"}, PLANNED], "cracks": cracks})
    code = records.ask("done_jobs")["crew_id"][0]
    answers = [
        upcoming.build(records, {"job_id": "J-2"}).answer,
        job_sheet.build(flagging.flags(records), "J-2", "A business").pages[0].answer,
        record.build(records, {"job_id": "J-1"}).answer,
        crews.build(records, {"crew_id": code}).answer,
    ]
    assert code.startswith("crew-")
    assert all(code in answer and f"crew {code}" not in answer.lower() for answer in answers)


def test_where_nothing_but_planned_work_is_loaded_it_is_shown_all_the_same(records_of: Callable[..., Records]) -> None:
    """No day is reached then: none was quoted, none done."""
    known = {**CRACK, "job_id": "J-2", "direction": "horizontal", "offset_mm": 0}
    records = records_of({"jobs": [PLANNED], "cracks": [known]})
    assert records.as_of is None
    assert today.build(records, {}).answer.startswith("1 of 1 planned crack needs something before the work, 1 of them")
    assert holdings.build(records, {}).answer.startswith("Nothing is quoted, done or reported yet: 1 job, 1 crack ")
    assert referral.build(flagging.flags(records), "J-2").title == "Engineer's referral J-2"
    page = upcoming.build(records, {})
    assert any(isinstance(part, Downloads) for part in page.parts)
    assert Words("No finished work is loaded yet: load jobs, cracks and callbacks first.", "muted") in page.parts


def test_what_was_never_measured_is_not_to_be_measured_again(records_of: Callable[..., Records]) -> None:
    unmeasured = {**CRACK, "crack_id": "K-2", "job_id": "J-2"}
    records = records_of({"jobs": [DONE_JOB, PLANNED], "cracks": [CRACK, unmeasured]})
    answer = upcoming.build(records, {}).answer
    assert answer.endswith(", 1 must be measured first.")


def test_a_planned_day_that_is_past_is_marked_where_it_is_listed(records_of: Callable[..., Records]) -> None:
    days = {"J-2": "2024-01-14", "J-3": DONE_JOB["done_on"]}
    jobs = [DONE_JOB, *({**PLANNED, "job_id": job, "planned_on": day} for job, day in days.items())]
    records = records_of({"jobs": jobs, "cracks": [{**CRACK, "crack_id": f"K-{n}", "job_id": f"J-{n}"} for n in "123"]})
    page = upcoming.build(records, {"needs": "every"})
    [listed] = (part for part in every_part(page.parts) if isinstance(part, Table) and part.title == "Planned cracks")
    assert dict(listed.rows.select("job_id", "overdue").rows()) == {"J-2": upcoming.DAY_IS_PAST, "J-3": None}


def test_a_list_of_risks_says_at_what_level_their_intervals_are(
    demo_store: Path, records_of: Callable[..., Records]
) -> None:
    found = flagging.flags(Records.of(demo_store), level=0.9)
    listed = upcoming.table(found, upcoming.listed(found))
    assert listed.note == "Intervals at 90\u202f%."
    without = flagging.flags(records_of({"jobs": [DONE_JOB, PLANNED], "cracks": [CRACK | {"job_id": "J-2"}]}))
    assert upcoming.table(without, upcoming.listed(without)).note == ""
