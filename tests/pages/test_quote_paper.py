"""A quote on paper: what it is a quote of, and that nobody goes by its price who has to stop first."""

from pathlib import Path

import pytest

from analytics.answers.records import Records
from analytics.contract import units
from analytics.pages import quote as page_of
from analytics.pages.page import Caution, Document, Downloads, Figures, Page, Section, Table, Words
from analytics.pages.within import every_part

SAID = {
    "length_m": "3.2", "width_mm": "0.4", "wall_thickness_mm": "250", "direction": "diagonal", "water": "seeping",
    "resin": "urethane_foam", "price": "900", "movement": "seasonal", "access": "tight", "wall_temp_c": "9",
    "port_spacing_mm": "200", "crew_id": "C03", "travel_minutes": "40", "warranty_months": "60",
}  # fmt: skip
TWO = {"cracks_on_job": "2", "length_m.2": "1.2", "width_mm.2": "0.3", "water.2": "damp"}


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def paper(records: Records, said: dict[str, str]) -> Page:
    """The page that is printed of what was typed."""
    [offered] = [part for part in page_of.build(records, said).parts if isinstance(part, Downloads)]
    document = offered.rows[0].document()
    assert isinstance(document, Document)
    [page] = document.pages
    return page


def lines(page: Page) -> list[str]:
    return [part.text.replace("\u202f", " ") for part in page.parts if isinstance(part, Words)]


def test_it_says_all_that_was_typed(records: Records) -> None:
    assert (
        "Length 3.2 m · width 0.4 mm · wall thickness 250 mm · direction diagonal · water seeping · "
        "resin urethane foam · price 900.00 USD · offset 0 mm · movement seasonal · access tight · "
        "wall temperature 9 °C · port spacing 200 mm · crew C03 · travel 40 min · cracks on the job 1 · "
        "warranty 60 months" in lines(paper(records, SAID))
    )


def test_what_was_not_typed_is_said_to_be_so(records: Records) -> None:
    [said] = [line for line in lines(paper(records, {"warranty_months": "held"})) if line.startswith("Length ")]
    for blank in ("price", "movement", "access", "wall temperature", "port spacing", "crew", "travel"):
        assert f" {blank} not said" in said
    assert said.endswith(" warranty without end")


def test_it_says_it_in_the_readers_units(records: Records) -> None:
    with units.displayed("us"):
        [said] = [line for line in lines(paper(records, {})) if line.startswith("Length ")]
    assert said.startswith("Length 8 ft ")
    assert " m " not in said


def test_a_crack_that_is_not_one_to_inject_says_what_it_is(records: Records) -> None:
    assert any(line.startswith("Length 2.4 m · width 0.02 mm") for line in lines(paper(records, {"width_mm": "0.02"})))
    of_two = paper(records, {**TWO, "width_mm.2": "0.02"})
    [narrow] = [part for part in of_two.parts if isinstance(part, Section) and part.title == "Crack 2"]
    assert any(isinstance(part, Words) and part.text.startswith("Length 1.2") for part in narrow.parts)


def test_what_is_the_jobs_stands_once_above_its_cracks(records: Records) -> None:
    page = paper(records, {**SAID, **TWO})
    [said] = [line for line in lines(page) if line.startswith("Wall thickness 250 mm")]
    assert said == (
        "Wall thickness 250 mm · price 900.00 USD · access tight · wall temperature 9 °C · port spacing 200 mm · "
        "crew C03 · travel 40 min · warranty 60 months"
    )


ENGINEERS = {"width_mm": "8", "price": "900"}
STOP = "◆ Stop: an engineer looks first. Do not inject before the decision is recorded: "


def test_an_engineers_crack_is_stopped_before_any_price(records: Records) -> None:
    page = paper(records, ENGINEERS)
    assert page.answer.startswith("2.4 m of 8 mm crack: an engineer looks first; ".replace(" m", "\u202fm"))
    assert page.parts[0] == Words(f"{STOP}this crack.", "strong")
    of_two = paper(records, {**TWO, "width_mm.2": "8"})
    assert of_two.answer.startswith("The job's 2 cracks together: an engineer looks first; ")
    priced = next(part for part in of_two.parts if isinstance(part, Section))
    assert priced.parts[0] == Words(f"{STOP}crack 2.", "strong")


def test_what_must_be_measured_first_is_said_before_any_price_and_prep_after_it(records: Records) -> None:
    unknown = paper(records, {"direction": "not said"})
    assert ": it must be measured first; " in unknown.answer
    assert "Measure first" in lines(unknown)[0]
    prep = paper(records, {"movement": "seasonal"})
    assert prep.answer.endswith("; it needs extra prep.")
    assert "Stop" not in str(prep)


def test_the_costs_are_one_list_that_adds_up_to_the_floor(records: Records) -> None:
    page = paper(records, SAID)
    [costs] = [part for part in page.parts if isinstance(part, Section) and part.title == "What it costs"]
    [table] = costs.parts
    assert isinstance(table, Table)
    assert table.rows["what"].to_list() == [
        "material", "labour and set-up", "travel", "leak-backs", "floor", "floor at the bad end", "target",
    ]  # fmt: skip
    amounts = table.rows["amount"].to_list()
    assert sum(amounts[:4]) == amounts[4]
    assert costs.aside is None
    takes = next(part for part in every_part(page.parts) if isinstance(part, Figures))
    assert not {row.label for row in takes.rows} & set(table.rows["what"])


def test_it_says_whom_it_is_for(records: Records) -> None:
    for said in (SAID, SAID | TWO, {"width_mm": "0.02"}):
        assert any(line.startswith("For the shop, not for the customer: ") for line in lines(paper(records, said)))


def test_its_cautions_are_those_of_its_resin(records: Records) -> None:
    def cautions(said: dict[str, str]) -> list[str]:
        return [part.text.split(" ")[0] for part in paper(records, said).parts if isinstance(part, Caution)]

    assert cautions({"resin": "epoxy"}) == ["Epoxy", "Injection", "A"]
    assert cautions({"resin": "urethane_foam"}) == ["Foam", "Injection", "A"]
    assert cautions({"resin": "not said"}) == ["Foam", "Epoxy", "Injection", "A"]
    assert cautions({**TWO, "resin": "epoxy", "resin.2": "urethane_foam"}) == ["Foam", "Epoxy", "Injection", "A"]
    assert cautions({"resin": "epoxy", "width_mm": "0.02"}) == ["Injection", "A"]


def test_of_a_crack_that_is_not_one_to_inject_no_wrong_number_of_cracks_is_said(records: Records) -> None:
    for said in ({"width_mm": "0.02", "cracks_on_job": "3"}, TWO | {"width_mm.2": "0.02"}):
        assert not any("racks on the job" in line for line in lines(paper(records, said)))
    assert any("racks on the job 3" in line for line in lines(paper(records, {"cracks_on_job": "3"})))


def test_an_engineer_is_not_kept_silent_of_a_crack_that_is_too_narrow_as_well(records: Records) -> None:
    said = {**TWO, "width_mm.2": "0.02", "movement.2": "growing"}
    printed = [part.text for part in every_part(paper(records, said).parts) if isinstance(part, Words)]
    assert any(text.startswith("◆ Stop: an engineer looks first.") and text.endswith(": crack 2.") for text in printed)
    assert any(text.startswith("Left out, without a price: crack 2") for text in printed)
