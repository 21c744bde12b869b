"""The engineer's referral: who asks, under which number, and for what reasons."""

from collections.abc import Callable, Mapping
from typing import Any

from analytics.answers import flagging
from analytics.answers.records import Records
from analytics.pages import referral
from analytics.pages.page import Document, Figures, Reasons
from analytics.pages.sheet import Blanks
from analytics.pages.within import every_part
from tests.histories import CRACK, DONE_JOB

RecordsOf = Callable[..., Records]
PLANNED = {"job_id": "J-2", "status": "planned", "planned_on": "2026-11-20"}
WIDE = CRACK | {
    "job_id": "J-2", "direction": "horizontal", "width_mm": 4, "offset_mm": 0, "movement": "still", "water": "dry",
}  # fmt: skip
ASKED = {"review_id": "R-1", "crack_id": "K-1", "asked_on": "2026-10-07"}


def made(records_of: RecordsOf, *reviews: Mapping[str, object], reach: str = "2026-10-10") -> Document:
    """The referral of a job of two cracks that wait for an engineer, as printed when the records reach ``reach``."""
    cracks = [WIDE | {"crack_id": name} for name in ("K-1", "K-2")]
    latest = DONE_JOB | {"done_on": reach}
    asked = {"reviews": list(reviews)} if reviews else {}
    records = records_of({"jobs": [latest, PLANNED], "cracks": cracks, **asked})
    return referral.build(flagging.flags(records), "J-2")


def figures(document: Document) -> dict[str, Any]:
    first = next(part for part in document.pages[0].parts if isinstance(part, Figures))
    return {row.label: row.value for row in first.rows}


def blanks(document: Document) -> dict[str, Blanks]:
    return {part.title: part for part in document.pages[0].parts if isinstance(part, Blanks)}


def test_it_bears_the_day_it_was_asked_whenever_it_is_printed(records_of: RecordsOf) -> None:
    document = made(records_of, ASKED, ASKED | {"review_id": "R-2", "crack_id": "K-2", "asked_on": "2026-10-09"})
    assert document.title == "Engineer's referral J-2/2026-10-07"
    assert figures(document)["reference number"] == "J-2/2026-10-07"
    assert figures(document)["asked on"] == "7 October 2026"


def test_it_bears_the_same_number_when_more_is_on_record(records_of: RecordsOf) -> None:
    assert figures(made(records_of, ASKED, reach="2026-10-30"))["reference number"] == "J-2/2026-10-07"


def test_asked_for_the_first_time_it_bears_the_day_of_the_records(records_of: RecordsOf) -> None:
    document = made(records_of, reach="2026-10-30")
    assert document.title == "Engineer's referral J-2/2026-10-30"
    assert "asked on" not in figures(document)


def test_a_question_that_was_answered_is_not_asked_under_its_day_again(records_of: RecordsOf) -> None:
    answered = ASKED | {"decided_on": "2026-10-08", "decision": "inject", "crack_id": "K-1"}
    asked = ASKED | {"review_id": "R-2", "crack_id": "K-2", "asked_on": "2026-10-09"}
    assert figures(made(records_of, answered, asked))["reference number"] == "J-2/2026-10-09"


def test_the_number_of_an_answer_is_not_that_of_another_question(records_of: RecordsOf) -> None:
    answered = ASKED | {"decided_on": "2026-10-08", "decision": "inject", "reference": "ENG-77"}
    asked = ASKED | {"review_id": "R-2", "crack_id": "K-2", "asked_on": "2026-10-09"}
    assert figures(made(records_of, answered, asked))["reference number"] == "J-2/2026-10-09"
    open_one = asked | {"reference": "ENG-78"}
    assert figures(made(records_of, answered, open_one))["reference number"] == "ENG-78"


def test_it_says_who_asks_and_where_to_send_it_back(records_of: RecordsOf) -> None:
    document = made(records_of)
    assert [field.label for field in blanks(document)["Who asks"].fields] == [
        "business", "person", "telephone or e-mail",
    ]  # fmt: skip
    assert "to who asks, named above" in referral.BACK


def test_each_crack_has_boxes_for_what_an_engineer_asks_about_first(records_of: RecordsOf) -> None:
    seen = blanks(made(records_of))["Seen on site"]
    assert seen.rows == ("K-1", "K-2")
    assert [field.label for field in seen.fields] == [
        "lower end above the floor", "upper end above the floor", "backfilled side, and how high",
        "photographs enclosed",
    ]  # fmt: skip


def test_what_is_no_reason_to_ask_an_engineer_is_not_said_to_be_one(records_of: RecordsOf) -> None:
    said: dict[str, set[str]] = {}
    for part in every_part(made(records_of).pages[0].parts):
        if isinstance(part, Reasons):
            said.setdefault(part.title, set()).update(row.action for row in part.rows)
    assert said == {"Why you are asked": {"engineer_review"}, "To know": {"extra_prep"}}
