"""The job sheet and the engineer's referral, of planned jobs small enough to know by heart."""

import json
from typing import Any

import pytest
import typst

from analytics.answers.flagging import Flags
from analytics.contract import units
from analytics.contract.descriptions import label
from analytics.errors import LeakbackError, UnknownNameError
from analytics.pages import job_forms, job_sheet, referral
from analytics.pages.page import Caution, Document, Figures, Paper, Reasons, Section, Words
from analytics.pages.sheet import Blanks
from analytics.render import cells, typeset
from tests.pages.planned_jobs import PLAIN, flags_of

LONGEST = "J-2" + "ABCDEFGHJKLMNPQRSTUVWXYZ23456789" * 2
LONGEST = LONGEST[:64]
WORST = PLAIN | {
    "direction": "horizontal", "width_mm": 6, "offset_mm": 4, "movement": "growing", "water": "running",
    "wall_temp_c": 3, "port_spacing_mm": 400,
}  # fmt: skip
PREPARED = PLAIN | {"movement": "seasonal", "water": "running", "wall_temp_c": 3}
JOBS = {
    "J-10": [PLAIN],
    "J-20": [PLAIN, PLAIN],
    "J-30": [PLAIN] * 5,
    "J-40": [WORST, PLAIN],
    "J-60": [PLAIN | {"direction": "horizontal"}, PLAIN],
    "J-50": [PLAIN | {"direction": None}],
    LONGEST: [WORST, WORST],
    "J-80": [PREPARED],
    "J-70": [PLAIN | {"movement": "growing"}] * 2,
}


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Flags:
    return flags_of(tmp_path_factory.mktemp("sheets"), JOBS)


def sheets(document: Document, paper: Paper = "a4") -> int:
    made: Any = typst.compile(
        typeset.template(),
        format="svg",
        font_paths=typeset.fonts(),
        ignore_system_fonts=True,
        sys_inputs=typeset.inputs(document, paper),
    )
    return len(made) if isinstance(made, list) else 1


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(
    ("job_id", "count"), [("J-10", 1), ("J-20", 2), ("J-30", 5), ("J-40", 2), ("J-80", 1), (LONGEST, 2)]
)
def test_each_crack_is_whole_on_one_sheet(found: Flags, job_id: str, count: int, paper: Paper) -> None:
    assert sheets(job_sheet.build(found, job_id), paper) == count


def test_two_cracks_share_a_sheet_where_they_can_be_read_on_it(found: Flags) -> None:
    for job_id, cracks in (("J-10", [1]), ("J-20", [2]), ("J-30", [2, 2, 1])):
        pages = job_sheet.build(found, job_id).pages
        named = [[len([part for part in page.parts if isinstance(part, Section)]) for page in pages]]
        assert named == [cracks]
        assert [len(page.apart) for page in pages] == [count if count > 1 else 0 for count in cracks]
    assert sheets(job_sheet.build(found, "J-70")) == 1  # two that wait: little is said of them


def test_each_sheet_has_drawing_reasons_steps_boxes_and_cautions(found: Flags) -> None:
    [page] = job_sheet.build(found, "J-60", "An invented business").pages
    cracks = [part for part in page.parts if isinstance(part, Section)]
    assert [crack.title for crack in cracks] == ["Crack J-60-1: ◆ engineer first", "Crack J-60-2: standard"]
    assert all(crack.aside is not None for crack in cracks)
    [why, *_] = [part for part in cracks[0].parts if isinstance(part, Reasons)]
    assert "the crack is horizontal" in [row.text for row in why.rows]
    assert all(row.source for row in why.rows)
    _, measured, actuals, signed = (part for part in page.parts if isinstance(part, Blanks))
    assert measured.rows == ("J-60-1", "J-60-2")
    assert actuals.rows == ("J-60-2",)
    assert [(field.label, field.tick) for field in actuals.fields][-3:] == [
        ("cleaned", True), ("dried", True), ("water tested", True),
    ]  # fmt: skip
    assert "signature" in [field.label for field in signed.fields]
    assert "Epoxy that has not cured" in " ".join(part.text for part in page.parts if isinstance(part, Caution))


def test_a_crack_that_waits_stops_the_sheet_in_its_first_lines(found: Flags) -> None:
    def stops(job_id: str) -> list[str]:
        parts = job_sheet.build(found, job_id).pages[0].parts
        assert isinstance(parts[0], Words)
        return [part.text for part in parts if isinstance(part, Words) and part.tone == "stop"]

    assert stops("J-40") == ["◆ Stop: an engineer looks first. Do not inject before the decision is recorded: J-40-1."]
    assert stops("J-50") == ["○ Measure first: nothing is injected before it is measured and looked at again: J-50-1."]
    assert stops("J-10") == []


def test_the_sheets_numbers_are_the_screens(found: Flags) -> None:
    laid = typeset.page(job_sheet.build(found, "J-10").pages[0])
    [crack] = [part for part in laid["parts"] if part["kind"] == "section"]
    shown = {row["label"]: row["value"] for row in crack["parts"][0]["rows"]}
    assert (shown["length"], shown["ports"], shown["void to fill"]) == ("2.40\u202fm", "13", "0.24\u202fL")


def test_a_crew_that_reads_inches_finds_what_its_tape_shows(found: Flags) -> None:
    with units.displayed("us"):
        section = next(part for part in job_sheet.build(found, "J-10").pages[0].parts if isinstance(part, Section))
        [figures] = [part for part in section.parts if isinstance(part, Figures)]
        said = {
            row.label: cells.figure(row).replace("\u202f", " ").replace(units.NO_BREAK, " ") for row in figures.rows
        }
        assert section.aside is not None
        drawn = section.aside.svg.replace("\u202f", " ").replace(units.NO_BREAK, " ")
    # 2.4 m, 200 mm, 0.5 mm; the inch is 25.4 mm exactly (NIST SP 811, Appendix B).
    assert (said["length"], said["wall thickness"], said["port spacing at most"]) == (
        "7 ft 10 1/2 in",
        "7 7/8 in",
        "7 7/8 in",
    )
    assert (said["width"], said["offset"]) == ("0.0197 in", "0 in")
    assert "13 ports, 7 7/8 in apart" in drawn


def test_a_job_that_is_not_planned_is_refused(found: Flags) -> None:
    for build in (job_sheet.build, referral.build):
        with pytest.raises(UnknownNameError, match="did you mean J-10"):
            build(found, "J-11")


def test_a_referral_asks_about_the_engineers_cracks_alone(found: Flags) -> None:
    document = referral.build(found, "J-40")
    [page] = document.pages
    assert [part.title for part in page.parts if isinstance(part, Section)] == ["Crack J-40-1"]
    [decision] = [part for part in page.parts if isinstance(part, Blanks) and part.title == "The decision"]
    assert decision.rows == ("J-40-1",)
    assert [field.label for field in decision.fields if field.tick] == [
        "inject", "repair otherwise", "monitor", "do nothing",
    ]  # fmt: skip
    said = json.dumps(typeset.page(page), ensure_ascii=False)
    assert "BRE Digest 251" in said
    assert "Ask an engineer" not in said
    assert f"J-40/{found.as_of}" in said
    assert document.title == f"Engineer's referral J-40/{found.as_of}"
    assert sheets(document) == 1


def test_a_job_without_an_engineers_crack_has_no_referral(found: Flags) -> None:
    with pytest.raises(LeakbackError, match="no crack of it waits for an engineer"):
        referral.build(found, "J-10")


def test_the_boxes_stand_in_the_order_in_which_a_form_asks_for_them() -> None:
    called = {
        "port_count": "ports used",
        "wall_temp_c": "wall",
        "labour_minutes": "minutes worked, all people together",
        "water_tested": "water tested",
        "port_spacing_mm": "spacing as set",
    }
    asked = [called.get(column, label(column)) for column in job_forms.WORKED if column != "resin"]
    assert [box.label for box in job_sheet.ACTUALS] == asked
