"""A job of several cracks typed on the quote page: one price for all, travel once, each crack by itself beside."""

from decimal import Decimal
from pathlib import Path

import pytest

from analytics.answers.quote_input import typed_crack, typed_job
from analytics.answers.quoting import quote
from analytics.answers.records import Records
from analytics.pages import quote as page_of
from analytics.pages.page import Downloads, Drawing, Figures, Folded, Page, Section, Table, Words
from analytics.pages.quote_choices import MOST_TYPED, ORDER, OWN
from analytics.pages.within import every_part
from analytics.render import typeset

THIN = "\u202f"
TWO = {"cracks_on_job": "2", "length_m.2": "1.2", "width_mm.2": "0.3", "water.2": "damp", "travel_minutes": "40"}
CRACK = {"length_m": 2.4, "width_mm": 0.5, "wall_thickness_mm": 200.0, "resin": "epoxy", "travel_minutes": 40.0}


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def figures(page: Page) -> dict[str, object]:
    rows = next(part for part in every_part(page.parts) if isinstance(part, Figures)).rows
    return {row.label: row.value for row in rows}


def listed(page: Page) -> Table:
    return next(part for part in every_part(page.parts) if isinstance(part, Table))


def test_as_many_cracks_can_be_typed_as_the_job_has(records: Records) -> None:
    for count, others in (("1", 0), ("3", 2), ("40", MOST_TYPED - 1)):
        page = page_of.build(records, {"cracks_on_job": count})
        assert len(page.choices) == len(ORDER) + others * len(OWN)
    assert [each.label for each in page_of.build(records, {"cracks_on_job": "2"}).choices[len(ORDER) :]][:2] == [
        "Crack 2, length",
        "Crack 2, width",
    ]


def test_what_is_typed_of_the_others_stays_where_something_is_wrong(records: Records) -> None:
    page = page_of.build(records, {**TWO, "width_mm": "wide"})
    assert page.answer.startswith("Width “wide” is not a number")
    assert "length_m.2" in {each.key for each in page.choices}


def test_the_whole_is_said_and_travel_is_in_it_once(records: Records) -> None:
    page = page_of.build(records, {**TWO, "price": "1,000.00"})
    assert page.answer.startswith("The job's 2 cracks together: 0.")
    assert f"% left at 1{THIN}000{THIN}USD" in page.answer
    assert page.answer.endswith("; it needs extra prep.")
    alone, with_travel = (
        figures(page_of.build(records, {**TWO, "travel_minutes": minutes}))["floor"] for minutes in ("", "40")
    )
    one, one_with = (
        figures(page_of.build(records, {"cracks_on_job": "1", "travel_minutes": minutes}))["travel"]
        for minutes in ("", "40")
    )
    assert isinstance(alone, Decimal)
    assert isinstance(with_travel, Decimal)
    assert isinstance(one, Decimal)
    assert isinstance(one_with, Decimal)
    assert with_travel - alone == pytest.approx(one_with - one, abs=Decimal("0.01"))


def test_each_crack_has_its_own_and_what_is_the_jobs(records: Records) -> None:
    asked = typed_job([CRACK, {**CRACK, "length_m": 1.2}], Decimal(1000))
    assert asked.cracks.select("crack_id", "travel_minutes", "cracks_on_job", "price").rows() == [
        ("crack 1", 40.0, 2, Decimal("666.67")),
        ("crack 2", 40.0, 2, Decimal("333.33")),
    ]
    page = page_of.build(records, TWO)
    assert listed(page).rows["crack_id"].to_list() == ["crack 1", "crack 2"]
    sections = [part for part in page.parts if isinstance(part, Section)][1:]
    assert [section.title for section in sections] == ["Crack 1", "Crack 2"]
    own = [part.text for section in sections for part in section.parts if isinstance(part, Words)]
    as_laid = "Length {} · width {} · direction vertical · water {} · resin epoxy · offset 0 mm · movement not said"
    assert [text.replace(THIN, " ") for text in own] == [
        as_laid.format("2.4 m", "0.5 mm", "dry"), as_laid.format("1.2 m", "0.3 mm", "damp"),
    ]  # fmt: skip
    drawn = [section.aside for section in sections]
    assert all(isinstance(aside, Drawing) for aside in drawn)
    folded = [part for section in sections for part in section.parts if isinstance(part, Folded)]
    assert [part.title for part in folded] == ["Comparable jobs: crack 1", "Comparable jobs: crack 2"]


def test_a_crack_costs_what_it_costs_by_itself_with_its_share(records: Records) -> None:
    [first, _] = listed(page_of.build(records, TWO)).rows["floor"].to_list()
    page = page_of.build(records, {"cracks_on_job": "2", "travel_minutes": "40"})
    assert float(str(figures(page)["floor"])) == pytest.approx(first)


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"width_mm.2": ""}, "Crack 2: no width is given: a quote needs at least a length and a width."),
        ({"length_m.2": "long"}, "Crack 2: length “long” is not a number; write it as a decimal number."),
        ({"length_m.2": "99"}, f"Crack 2: length must be from 0.01 to 50{THIN}m."),
        ({"water.2": "flood"}, "Unknown crack 2, water 'flood': it is one of "),
    ],
)
def test_what_cannot_be_says_of_which_crack(records: Records, said: dict[str, str], sentence: str) -> None:
    page = page_of.build(records, {**TWO, **said})
    assert page.answer.startswith(sentence)
    assert page.parts == ()


def test_while_a_crack_is_missing_the_first_is_priced_and_the_others_are_asked_for(records: Records) -> None:
    page = page_of.build(records, {**TWO, "cracks_on_job": "3"})
    assert f"{THIN}USD for this crack of 3" in page.answer
    assert page.answer.endswith(page_of.GIVE_OTHERS)


def test_a_crack_that_is_not_one_to_inject_is_left_out_and_the_others_carry_the_job(records: Records) -> None:
    page = page_of.build(records, {**TWO, "width_mm.2": "0.02", "price": "900"})
    assert page.answer.startswith("1 of 2 cracks, without crack 2: ")
    assert listed(page).rows["floor"].is_null().to_list() == [False, True]
    alone = quote(records, typed_crack({**CRACK, "water": "dry", "direction": "vertical", "warranty_months": 60}))
    assert figures(page)["floor"] == pytest.approx(alone.quotes[0].price.floor)
    assert "margin left" not in figures(page)
    both = page_of.build(records, {**TWO, "width_mm": "0.02", "width_mm.2": "0.02"})
    assert both.answer == "No crack of this job is one to inject, so it has no price here."
    dry = page_of.build(records, {**TWO, "width_mm.2": "0.02", "water.2": "dry"})
    assert dry.answer.endswith("; nothing beyond the standard steps.")
    engineers = page_of.build(records, {**TWO, "width_mm.2": "0.02", "direction.2": "horizontal"})
    assert engineers.answer.startswith("1 of 2 cracks, without crack 2: an engineer looks first; ")


def test_an_engineers_crack_stops_the_job_in_its_first_lines(records: Records) -> None:
    page = page_of.build(records, {**TWO, "direction.2": "horizontal"})
    assert page.answer.startswith("The job's 2 cracks together: an engineer looks first; ")
    first = next(part for part in every_part(page.parts) if isinstance(part, Words))
    assert "Stop: an engineer looks first" in first.text
    assert first.text.endswith("crack 2.")


def test_it_can_be_printed_without_the_comparable_jobs(records: Records) -> None:
    page = page_of.build(records, TWO)
    [paper] = [part for part in page.parts if isinstance(part, Downloads)]
    assert [(row.file_name, row.paper) for row in paper.rows] == [("quote.pdf", "a4"), ("quote-letter.pdf", "letter")]
    document = paper.rows[0].document()
    assert not isinstance(document, bytes)
    assert document.pages[0].answer == page.answer
    laid = str(typeset.page(document.pages[0]))
    assert "Crack 2" in laid
    assert "Comparable" not in laid
