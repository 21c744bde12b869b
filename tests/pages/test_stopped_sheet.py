"""Job sheets of cracks that are not to be injected, or not yet: nothing on them says how to inject those."""

import json
from typing import TypeVar

import pytest

from analytics.answers.flagging import Flags
from analytics.decisions.quote import Span
from analytics.pages import job_sheet
from analytics.pages.page import Caution, Page, Section, Words
from analytics.pages.sheet import Blanks, Steps
from analytics.render import typeset
from tests.pages.planned_jobs import PLAIN, flags_of

Kind = TypeVar("Kind")
ENGINEERS = PLAIN | {"movement": "growing"}
NARROW = PLAIN | {"width_mm": 0.03}
UNMEASURED = PLAIN | {"width_mm": None, "water": None, "movement": None}
JOBS = {
    "J-10": [ENGINEERS],
    "J-20": [NARROW],
    "J-30": [UNMEASURED],
    "J-40": [ENGINEERS, PLAIN],
    "J-50": [PLAIN],
    "J-60": [PLAIN, PLAIN, ENGINEERS, NARROW],
    "J-70": [PLAIN | {"resin": "urethane_foam"}],
    "J-80": [PLAIN | {"resin": None}],
}
LITRES = {f"{job}-{place}": Span(0.5, 0.6, 0.7) for job in JOBS for place in (1, 2)}


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Flags:
    return flags_of(tmp_path_factory.mktemp("stopped"), JOBS)


def parts_of(page: Page, kind: type[Kind]) -> list[Kind]:
    return [part for part in page.parts if isinstance(part, kind)]


def sheet(found: Flags, job_id: str) -> Page:
    [page] = job_sheet.build(found, job_id, litres=LITRES).pages
    return page


@pytest.mark.parametrize("job_id", ["J-10", "J-20", "J-30"])
def test_a_stopped_sheet_holds_nothing_of_how_to_inject(found: Flags, job_id: str) -> None:
    page = sheet(found, job_id)
    [todo] = parts_of(page, Steps)
    assert todo.title == f"What to do at {job_id}-1: nothing is injected"
    [crack] = parts_of(page, Section)
    assert crack.aside is not None
    labels = [row["label"] for row in typeset.lay(crack)["parts"][0]["rows"]]
    assert {"resin", "ports", "port spacing at most", "void to fill", "surface seal"}.isdisjoint(labels)
    assert job_sheet.TAKES not in json.dumps(typeset.page(page))
    assert "Bring an epoxy" not in json.dumps(typeset.page(page))
    assert "port" not in crack.aside.alt
    boxes = [field.label for part in parts_of(page, Blanks)[1:] for field in part.fields]
    assert {"ports used", "resin used", "cleaned", "water tested"}.isdisjoint(boxes)
    assert boxes[:2] == ["width now", "offset now"]


def test_what_to_do_says_who_looks_and_what_is_measured(found: Flags) -> None:
    for job_id, said in (
        ("J-10", "J-10-1: an engineer looks first"),
        ("J-20", "J-20-1: do what is said of it above."),
        ("J-30", "J-30-1: hand in what was measured"),
    ):
        [todo] = parts_of(sheet(found, job_id), Steps)
        assert todo.rows[0].text.startswith("Measure the width")
        assert todo.rows[1].text.startswith(said)
    _, measured, _ = parts_of(sheet(found, "J-30"), Blanks)
    assert [(field.label, field.unit) for field in measured.fields] == [
        ("width now", "mm"), ("offset now", "mm"), ("water", ""), ("movement", ""),
    ]  # fmt: skip


def test_where_cracks_differ_the_steps_name_those_that_they_are_for(found: Flags) -> None:
    page = sheet(found, "J-40")
    instead, steps = parts_of(page, Steps)
    assert instead.title == "What to do at J-40-1: nothing is injected"
    assert steps.title == "Steps for J-40-2 only, in this order"
    assert "J-40-1" not in " ".join(row.text for row in steps.rows)
    _, measured, done, _ = parts_of(page, Blanks)
    assert (measured.rows, done.rows) == (("J-40-1", "J-40-2"), ("J-40-2",))
    [plain] = parts_of(sheet(found, "J-50"), Steps)
    assert plain.title == "Steps, in this order"


@pytest.mark.parametrize("job_id", ["J-10", "J-50"])
def test_every_sheet_has_boxes_for_the_site_whom_to_ask_and_what_is_measured_again(found: Flags, job_id: str) -> None:
    site, measured, *_ = parts_of(sheet(found, job_id), Blanks)
    assert [field.label.split(",")[0] for field in site.fields] == ["site address", "stop and ask"]
    assert [field.label for field in measured.fields] == ["width now", "offset now"]
    assert measured.rows == (f"{job_id}-1",)


def test_every_sheet_of_a_job_says_what_stops_any_of_its_cracks(found: Flags) -> None:
    pages = job_sheet.build(found, "J-60").pages
    assert len(pages) == 2
    assert [page.answer for page in pages] == [
        f"Job J-60, Tuesday 1 December 2026, crew C01: an engineer looks first; this sheet: {here} of 4 cracks."
        for here in ("J-60-1 and J-60-2", "J-60-3 and J-60-4")
    ]
    for page in pages:
        assert [part.text for part in parts_of(page, Words) if part.tone != "muted"] == [
            "◆ Stop: an engineer looks first. Do not inject before the decision is recorded: J-60-3.",
            "× Stop: not one to inject as it is. Do not inject; do what is said of it: J-60-4.",
        ]
    [steps] = parts_of(pages[0], Steps)
    assert steps.title == "Steps for J-60-1 and J-60-2 only, in this order"
    [todo] = parts_of(pages[1], Steps)
    assert todo.title == "What to do at J-60-3 and J-60-4: nothing is injected"


def test_what_is_not_known_is_said_in_words(found: Flags) -> None:
    [crack] = parts_of(sheet(found, "J-30"), Section)
    shown = {row["label"]: row["value"] for row in typeset.lay(crack)["parts"][0]["rows"]}
    assert [shown[name] for name in ("width", "water", "movement")] == ["not recorded"] * 3
    assert shown["length"] == "2.40\u202fm"


def test_a_crew_reads_words_of_the_site(found: Flags) -> None:
    said = json.dumps(typeset.page(sheet(found, "J-50")), ensure_ascii=False)
    assert "resin, and what 8 of 10 such cracks took" in said
    assert "0.60\u202fL (0.50 to 0.70)" in said
    assert "minutes worked, all people together" in said
    assert "person-min" not in said


def test_the_spacing_planned_is_called_the_widest(found: Flags) -> None:
    [crack] = parts_of(sheet(found, "J-50"), Section)
    shown = {row["label"]: row["value"] for row in typeset.lay(crack)["parts"][0]["rows"]}
    assert shown["port spacing at most"] == "200\u202fmm"
    assert "port spacing" not in shown


def test_a_sheet_warns_of_the_resin_that_is_planned(found: Flags) -> None:
    def warned(job_id: str) -> str:
        return " ".join(part.text for part in parts_of(sheet(found, job_id), Caution))

    assert "Epoxy that has not cured" in warned("J-50")
    assert "isocyanate" not in warned("J-50")
    assert "isocyanate" in warned("J-70")
    assert "Epoxy" not in warned("J-70")
    assert "isocyanate" in warned("J-80")
    assert "Epoxy" in warned("J-80")
    assert "Resin under pressure" in warned("J-70")
    assert "esin" not in warned("J-10")
