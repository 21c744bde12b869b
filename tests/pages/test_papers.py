from collections.abc import Callable
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import flagging, quoting
from analytics.answers.records import Records
from analytics.pages import job_sheet, papers, upcoming
from analytics.pages.page import Document, Downloads, Figures, Section
from analytics.pages.within import every_part
from analytics.store import Store
from tests.histories import CRACK, DONE_JOB


@pytest.mark.parametrize(
    ("name", "safe"), [("J-4955", "job-J-4955.pdf"), ("../x", "job-x-"), ("2024/113", "job-2024-113-"), ("é", "job-")]
)
def test_file_names_hold_nothing_a_system_would_read(name: str, safe: str) -> None:
    made = papers.file_name("job", name, "pdf")
    assert made.startswith(safe.removesuffix(".pdf"))
    assert "/" not in made
    assert ".." not in made


def test_two_names_never_share_a_file() -> None:
    assert len({papers.file_name("job", name, "pdf") for name in ("a/b", "a b", "a-b", "a?b")}) == 4


def test_a_week_runs_from_monday_to_sunday() -> None:
    planned = pl.DataFrame(
        {
            "job_id": ["late", "next", "early", "early", "none"],
            "planned_on": [date(2026, 11, 15), date(2026, 11, 16), date(2026, 11, 9), date(2026, 11, 10), None],
        }
    )
    monday = papers.week_of(date(2026, 11, 12))
    assert monday == date(2026, 11, 9)
    assert papers.in_week(planned, monday) == ["early", "late"]


def test_what_can_be_printed_is_offered_and_not_made_before(demo_store: Path) -> None:
    records = Records.of(demo_store)
    found = flagging.flags(records)
    first = next(flag for flag in found.flags if flag.action == "engineer_review").job_id
    offered = upcoming.build(records, {"job_id": first}).parts[0]
    assert isinstance(offered, Downloads)
    assert [(one.label, one.paper) for one in offered.rows] == [
        ("Print the job sheet", "a4"), ("Print it on US Letter", "letter"), ("Print the engineer's referral", "a4"),
    ]  # fmt: skip
    sheet = offered.rows[0].document()
    assert isinstance(sheet, Document)
    assert first in sheet.title
    [week] = [part for part in upcoming.build(records, {}).parts if isinstance(part, Downloads)]
    days = found.planned["planned_on"].drop_nulls()
    jobs = papers.in_week(found.planned, papers.week_of(days.to_list()[days.arg_min() or 0]))
    assert f"{len(jobs)} job" in week.rows[0].label
    together = week.rows[0].document()
    assert isinstance(together, Document)
    assert len(together.pages) >= len(jobs)


def test_a_job_sheet_says_the_litres_of_each_crack_as_its_quote_does(demo_store: Path) -> None:
    records = Records.of(demo_store)
    found = flagging.flags(records)
    litres = {each.crack_id: each.litres for each in quoting.quote_job(records, "J-4956").quotes}
    sections = [part for page in papers.sheet(records, found, "J-4956").pages for part in every_part(page.parts)]
    told = {
        section.title.split()[1].rstrip(":"): (row.low, row.value, row.high)
        for section in sections
        if isinstance(section, Section)
        for figures in section.parts
        if isinstance(figures, Figures)
        for row in figures.rows
        if row.label == job_sheet.TAKES
    }
    assert told == {crack: (span.low, span.expected, span.high) for crack, span in litres.items()}
    assert len(told) == 3
    for waits in ("J-5076", "J-5047"):  # an engineer decided that the one is not injected, and looks first at the other
        assert job_sheet.TAKES not in str(papers.sheet(records, found, waits).pages)


def test_every_sheet_says_how_far_the_records_reach(
    records_of: Callable[..., Records], store_path: Path, demo_store: Path
) -> None:
    Store.open_or_create(store_path)
    assert papers.about(Records.of(store_path)) == "Nothing quoted, done or reported yet"
    assert papers.about(records_of({"jobs": [DONE_JOB]})) == "Records to 15 January 2024"
    assert papers.about(Records.of(demo_store)).startswith("An invented business, for show · records to ")


def test_the_next_week_is_offered_though_an_older_job_is_open_yet(records_of: Callable[..., Records]) -> None:
    planned = [
        {"job_id": number, "status": "planned", "planned_on": day}
        for number, day in (("J-2", "2024-01-02"), ("J-3", "2024-01-22"), ("J-4", "2024-01-29"))
    ]
    cracks = [CRACK | {"crack_id": job["job_id"], "job_id": job["job_id"]} for job in planned]
    records = records_of({"jobs": [DONE_JOB, *planned], "cracks": cracks})
    found = flagging.flags(records)
    [week] = papers.week_sheets(records, found, found.planned)
    assert week.rows[0].label == "Print the sheets of 1 job in the week of Mon 22 Jan"
    [late] = papers.week_sheets(records, found, found.planned.filter(job_id="J-2"))
    assert late.rows[0].label == "Print the sheets of 1 job in the week of Mon 1 Jan"
