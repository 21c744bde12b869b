"""A crack too narrow to inject is not to be injected on every list, sheet and page; its action stays what it is."""

from collections.abc import Callable

import pytest

from analytics.answers import flagging
from analytics.answers.records import Records
from analytics.pages import job, job_sheet, today, upcoming
from analytics.pages.page import Page, Section, Table, Words
from analytics.pages.within import every_part
from analytics.render.cells import cell
from tests.histories import CRACK, DONE_JOB

NARROW, COLD, PLAIN = "J-2-1", "J-2-2", "J-2-3"
PLANNED = {"job_id": "J-2", "site_id": "S-2", "crew_id": "C01", "status": "planned", "planned_on": "2026-12-01"}


@pytest.fixture
def records(records_of: Callable[..., Records]) -> Records:
    """A planned job of three cracks: one too narrow, one of a cold wall, one plain."""
    changes: dict[str, dict[str, object]] = {NARROW: {"width_mm": 0.03}, COLD: {"wall_temp_c": 5}, PLAIN: {}}
    whole = CRACK | {"direction": "vertical", "offset_mm": 0, "wall_temp_c": 15, "job_id": "J-2"}
    cracks = [whole | {"crack_id": name} | changed for name, changed in changes.items()]
    return records_of({"jobs": [DONE_JOB, PLANNED], "cracks": [CRACK, *cracks]})


def needs(page: Page) -> dict[str, str]:
    """What the list of a page says each crack needs."""
    for part in every_part(page.parts):
        kinds = {column.kind: column for column in part.columns} if isinstance(part, Table) else {}
        if isinstance(part, Table) and "action" in kinds:
            return {str(row["crack_id"]): cell(kinds["action"], row).main for row in part.rows.to_dicts()}
    return {}


def test_the_lists_say_it(records: Records) -> None:
    for page in (upcoming.build(records, {}), today.build(records, {})):
        assert needs(page)[NARROW] == "× do not inject"
        assert needs(page)[COLD] == "▲ extra prep"
        assert " 1 is not to be injected: decided by an engineer, or not injectable as measured." in page.answer
    assert "1 needs extra prep" in upcoming.build(records, {}).answer


def test_the_jobs_page_says_it_first_though_another_crack_is_riskier(records: Records) -> None:
    found = flagging.flags(records)
    assert job.build(found, "J-2").answer.endswith(f"3 cracks; do not inject {NARROW}.")
    [flag] = [flag for flag in found.flags if flag.crack_id == NARROW]
    assert (flag.action, job.crack_said(flag)) == ("extra_prep", "not one to inject as it is")


def test_the_sheet_says_it_in_its_heading_and_stops(records: Records) -> None:
    page = job_sheet.build(flagging.flags(records), "J-2").pages[0]
    assert f"do not inject {NARROW}" in page.answer
    titles = [part.title for part in page.parts if isinstance(part, Section)]
    assert titles[0] == f"Crack {NARROW}: × do not inject"
    [stop] = [part.text for part in page.parts if isinstance(part, Words) and part.tone == "stop"]
    assert stop == (f"× Stop: not one to inject as it is. Do not inject; do what is said of it: {NARROW}.")


def test_where_an_engineer_decided_to_inject_it_the_sheet_says_to_measure_again(
    records_of: Callable[..., Records],
) -> None:
    crack = CRACK | {"job_id": "J-2", "crack_id": NARROW, "width_mm": 0.03, "movement": "growing", "offset_mm": 0}
    decided = {"review_id": "R-1", "crack_id": NARROW, "decided_on": "2026-09-01", "decision": "inject"}
    found = flagging.flags(records_of({"jobs": [DONE_JOB, PLANNED], "cracks": [CRACK, crack], "reviews": [decided]}))
    page = job_sheet.build(found, "J-2").pages[0]
    [stop] = [part.text for part in page.parts if isinstance(part, Words) and part.tone == "stop"]
    assert stop.startswith("× Stop: an engineer decided to inject, and as measured it is not one to inject. Measure it")


def test_a_table_to_take_away_says_it_too(records: Records) -> None:
    rows = flagging.flags(records).answer(everything=True)["rows"]
    assert {row["crack_id"]: (row["action"], row["needs"]) for row in rows} == {  # type: ignore[attr-defined]
        NARROW: ("extra_prep", "do_not_inject"),
        COLD: ("extra_prep", "extra_prep"),
        PLAIN: ("standard", "standard"),
    }
