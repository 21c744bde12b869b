"""The page that checks a quote, as data and as people read it; the list that the command prints."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console

from analytics.answers.quote_input import ASKED, typed_crack, typed_number
from analytics.answers.quoting import quote, quote_planned
from analytics.answers.records import Records
from analytics.contract import units, words
from analytics.errors import LeakbackError
from analytics.pages import quote as page_of
from analytics.pages import quoted
from analytics.pages.page import Choice, Downloads, Drawing, Figures, Page, Reasons, Section, Table, TypedNumber, Words
from analytics.pages.quote_choices import MOST_TYPED, ORDER, given
from analytics.pages.within import every_part
from analytics.render.terminal import show
from tests.histories import CRACK, DONE_JOB

THIN = "\u202f"


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


def read(page: Page) -> str:
    out = StringIO()
    show(page, Console(width=140, file=out))
    return out.getvalue()


def figures(page: Page) -> dict[str, object]:
    section = next(part for part in page.parts if isinstance(part, Section))
    rows = next(part for part in section.parts if isinstance(part, Figures)).rows
    return {row.label: row.value for row in rows}


def test_it_opens_with_a_crack_and_its_answer(records: Records) -> None:
    page = page_of.build(records, {})
    assert page.answer.startswith(f"2.4{THIN}m of 0.5{THIN}mm crack: 0.")
    assert f"{THIN}L (" in page.answer
    assert f"{THIN}USD, aim for " in page.answer
    assert page.answer.endswith("nothing beyond the standard steps.")
    section = next(part for part in page.parts if isinstance(part, Section))
    assert isinstance(section.aside, Drawing)
    assert "13 ports" in section.aside.alt


@pytest.mark.parametrize(
    ("price", "said"), [("650", f"{THIN}% left at 650{THIN}USD"), ("100", f" short at 100{THIN}USD")]
)
def test_its_sentence_says_what_the_price_leaves(records: Records, price: str, said: str) -> None:
    assert said in page_of.build(records, {"price": price}).answer


def test_its_sentence_says_that_the_price_is_for_one_crack_of_several(records: Records) -> None:
    answer = page_of.build(records, {"cracks_on_job": "3"}).answer
    assert f"{THIN}USD for this crack of 3, aim for " in answer
    assert answer.endswith("; nothing beyond the standard steps. " + page_of.GIVE_OTHERS)
    many = page_of.build(records, {"cracks_on_job": str(MOST_TYPED + 1)})
    assert many.answer.endswith("; nothing beyond the standard steps. " + page_of.WHOLE)
    alone = page_of.build(records, {"cracks_on_job": "1"}).answer
    assert "for this crack" not in alone
    assert alone.endswith("; nothing beyond the standard steps.")


def test_everything_that_may_be_given_can_be_typed(records: Records) -> None:
    page = page_of.build(records, {})
    assert [each.key for each in page.choices] == list(ORDER)
    assert set(ORDER) == set(ASKED)
    assert all(isinstance(each, Choice | TypedNumber) for each in page.choices)


def test_a_changed_input_changes_the_answer_and_agrees_with_the_command(records: Records) -> None:
    said = {"length_m": "3.1", "water": "seeping", "resin": "urethane foam", "crew_id": "C05", "travel_minutes": "30"}
    page = page_of.build(records, said)
    asked = given(said, page.choices)  # type: ignore[arg-type]
    assert (asked["length_m"], asked["resin"], asked["crew_id"]) == (3.1, "urethane_foam", "C05")
    found = quote(records, typed_crack(asked | {"cracks_on_job": 1})).quotes[0]
    shown = figures(page)
    assert shown["resin"] == found.litres.expected
    assert shown["labour"] == found.minutes.expected
    assert shown["floor"] == found.price.floor
    assert shown["target"] == found.price.target
    assert shown != figures(page_of.build(records, {}))


@pytest.mark.parametrize("price", ["1150 EUR", "€1,150.00", "EUR 1150"])
def test_a_price_in_another_currency_is_no_price_in_this_one(records: Records, price: str) -> None:
    page = page_of.build(records, {"price": price})
    assert (page.answer, page.parts) == ("Price is typed in EUR, and asked for in USD: write it in USD.", ())


@pytest.mark.parametrize("price", ["$1,150.00", "1.150,00", "1150 USD", " 1150,0 "])
def test_a_price_is_read_as_people_write_it_on_the_page_as_by_the_command(records: Records, price: str) -> None:
    assert f"% left at 1{THIN}150{THIN}USD" in page_of.build(records, {"price": price}).answer
    assert typed_number("price", price) == Decimal(1150)


@pytest.mark.parametrize("price", ["1,150", "1.150", "1,15,000.00", "1.150,00,0", "450 or so"])
def test_a_price_that_is_none_or_could_be_two_is_asked_for_again_by_both(records: Records, price: str) -> None:
    with pytest.raises(LeakbackError) as refused:
        typed_number("price", price)
    assert page_of.build(records, {"price": price}).answer == words.sentence(str(refused.value))


def test_a_price_is_placed(records: Records) -> None:
    page = page_of.build(records, {"price": "420"})
    said = next(part for part in page.parts if isinstance(part, Words)).text
    assert said.startswith(f"At 420{THIN}USD a margin of ")
    assert "at the bad end; that is dearer than " in said
    assert "of 10 comparable cracks" in said


def test_the_comparable_jobs_say_why_and_how_they_have_held(records: Records) -> None:
    section = [part for part in page_of.build(records, {}).parts if isinstance(part, Section)][-1]
    table = section.parts[0]
    assert isinstance(table, Table)
    assert table.rows.height == 10
    assert table.rows["why"].str.contains(r"^\d of \d(: .+ here, .+ there)?$").all()
    assert [each.unit for each in table.columns if each.key in {"price", "here"}] == ["USD", "USD"]
    assert table.rows["leaked"].str.contains(r"^(yes, at|no,) \d+ months?$").all()


def test_a_crack_unlike_any_says_so_first(records: Records) -> None:
    page = page_of.build(records, {"length_m": "30"})
    printed, first = page.parts[:2]
    assert isinstance(printed, Downloads)
    assert [row.paper for row in printed.rows] == ["a4", "letter"]
    assert isinstance(first, Words)
    assert first.text.startswith("No finished crack is like this one: length 30 m")


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"width_mm": "500"}, f"Width must be from 0.01 to 100{THIN}mm."),
        ({"length_m": "-2"}, f"Length must be from 0.01 to 50{THIN}m."),
        ({"length_m": "long"}, "Length “long” is not a number; write it as a decimal number."),
        ({"length_m": "nan"}, "Length “nan” is not a number; write it as a decimal number."),
        (
            {"length_m": "1,200"},
            "Length “1,200” could be a decimal number or thousands; write it with a decimal point.",
        ),
        ({"width_mm": "1/8"}, "Width “1/8” is a fraction; write it as a decimal number."),
        ({"cracks_on_job": "2.5"}, "Cracks on the job “2.5” is not a whole number."),
        ({"cracks_on_job": "0"}, "Cracks on the job must be from 1 to 200."),
        ({"resin": "glue"}, "Unknown resin 'glue': it is one of epoxy, not said, urethane foam."),
        (
            {"direction": "sideways"},
            "Unknown direction 'sideways': it is one of diagonal, horizontal, not said, stepped, vertical.",
        ),
        ({"price": "-5"}, f"Price must be from 0 to 1{THIN}000{THIN}000{THIN}000{THIN}USD."),
    ],
)
def test_what_cannot_be_is_a_sentence_and_the_inputs_stay(
    records: Records, said: dict[str, str], sentence: str
) -> None:
    page = page_of.build(records, said)
    assert page.answer == sentence
    assert len(page.choices) == len(ORDER)
    assert page.parts == ()


@pytest.mark.parametrize(
    ("length_m", "width_mm", "same"),
    [("2,4", "0,5", {}), ("8' 2\"", "1/8 in", {"length_m": "2.4892", "width_mm": "3.175"}), ("240 cm", "0.5 mm", {})],
)
def test_a_measurement_is_read_as_it_is_written(
    records: Records, length_m: str, width_mm: str, same: dict[str, str]
) -> None:
    page = page_of.build(records, {"length_m": length_m, "width_mm": width_mm})
    assert figures(page) == figures(page_of.build(records, same))


def test_a_plain_number_is_in_the_readers_units_and_another_is_converted(records: Records) -> None:
    with units.displayed("us"):
        plain, written = ({"length_m": ft, "width_mm": inches} for ft, inches in (("8.5", "1/8"), ("8' 6\"", "0.125")))
        assert figures(page_of.build(records, plain)) == figures(page_of.build(records, written))
        assert page_of.build(records, plain).answer.startswith(f"8{THIN}ft\u00a06{THIN}in of 1/8{THIN}in crack: ")
        assert f"of 0.02{THIN}in crack: " in page_of.build(records, {"width_mm": ".02"}).answer
        unread = page_of.build(records, {"width_mm": "3 or 4"}).answer
        assert unread == "Width “3 or 4” is not a number of in; write one such as 2.5."


def test_it_opens_with_round_figures_of_the_readers_units_which_are_the_ones_worked_out(records: Records) -> None:
    with units.displayed("us"):
        opened = page_of.build(records, {})
        shown = {each.key: each.shown().default for each in opened.choices if isinstance(each, TypedNumber)}
        boxes = {key: f"{value:g}" for key, value in shown.items() if value is not None}
        assert boxes == {"length_m": "8", "width_mm": "0.02", "wall_thickness_mm": "8", "offset_mm": "0"} | {
            "cracks_on_job": "1"
        }
        assert opened.answer.startswith(f"8{THIN}ft of 0.02{THIN}in crack: ")
        assert figures(opened) == figures(page_of.build(records, boxes))
        numbers = [e for e in page_of.build(records, {"cracks_on_job": "2"}).choices if isinstance(e, TypedNumber)]
        second = {each.key: each.default for each in numbers}
        assert (second["length_m.2"], second["offset_mm.2"]) == (None, 0.0)


def test_bounds_are_said_and_taken_in_the_readers_units(records: Records) -> None:
    with units.displayed("us"):
        inputs = page_of.build(records, {}).choices
        entries = [each for each in inputs if isinstance(each, TypedNumber)]
        assert page_of.build(records, {"length_m": "165"}).answer == f"Length must be from 0.0328 to 164{THIN}ft."
        for bound in ("least", "most"):
            at_it = {each.key: f"{getattr(each.shown(), bound):.10g}" for each in entries}
            assert {key: given(at_it, entries)[key] for key in at_it} == pytest.approx(
                {each.key: getattr(each, bound) for each in entries}, rel=0.005
            )
            assert page_of.build(records, at_it).parts


def test_an_empty_input_is_the_one_the_page_opens_with(records: Records) -> None:
    assert page_of.build(records, {"width_mm": "", "price": " "}).answer == page_of.build(records, {}).answer


def test_the_level_stands_beside_the_risk_as_beside_what_it_takes(records: Records) -> None:
    section = next(part for part in page_of.build(records, {}).parts if isinstance(part, Section))
    rows = next(part for part in section.parts if isinstance(part, Figures)).rows
    said = {row.label: row.note for row in rows}
    assert said["leak-back within 24 months"] == said["resin"] == f"80{THIN}% interval"
    asked = page_of.card(quote(records, typed_crack({"length_m": 2.4, "width_mm": 0.5}), level=0.5))
    assert read(asked).count(f"50{THIN}% interval") == 2  # of labour and of the risk: no resin is named


def test_no_history_is_said_and_the_take_off_stands(records_of: Callable[..., Records]) -> None:
    page = page_of.build(records_of({"jobs": [DONE_JOB], "cracks": [CRACK]}), {})
    assert "too little to tell what it takes" in page.answer
    assert "interval" not in read(replace(page, worked_out=""))
    assert figures(page)["ports"] == 13
    assert "more would do" in read(page)


def test_the_half_page_for_paper_says_the_same(records: Records) -> None:
    found = quote(records, typed_crack({"length_m": 2.4, "width_mm": 0.5, "price": Decimal(300)}))
    document = page_of.sheet_of(found, "a line")
    assert document.pages[0].answer == page_of.card(found).answer
    assert document.about == "a line"
    assert not any(isinstance(part, Section) and part.title == "Comparable jobs" for part in document.pages[0].parts)


def test_the_list_has_a_row_a_crack_and_names_those_unlike_any(records: Records) -> None:
    found = quote_planned(records)
    page = quoted.build(found)
    tables = [part for part in page.parts if isinstance(part, Table)]
    assert tables[0].rows["crack_id"].to_list() == [each.crack_id for each in found.quotes]
    [strange] = [table for table in tables if "no finished crack is like" in table.title]
    assert set(strange.rows["crack_id"]) == {each.crack_id for each in found.quotes if each.unlike}
    assert page.answer.startswith(f"{len(found.quotes)} cracks; ")
    assert "engineer first" in read(page)


def test_the_list_gives_a_crack_that_is_not_one_to_inject_neither_price_nor_litres_but_the_reason(
    records: Records,
) -> None:
    found = quote_planned(records)
    declined = next(each for each in found.quotes if each.flag.declined)
    first, *others = (part for part in quoted.build(found).parts if isinstance(part, Table))
    [row] = first.rows.filter(crack_id=declined.crack_id).drop("crack_id", "needs").rows()
    assert set(row) == {None}
    [why] = [table.rows for table in others if "no price" in table.title]
    said = dict(why.iter_rows())[declined.crack_id]
    assert said.startswith("The engineer decided on ")


def test_a_file_of_rejected_rows_alone_is_no_list_of_cracks_for_nothing(records: Records) -> None:
    rejects = tuple({"row": row, "column": name, "reason": "no"} for row, name in ((2, "length_m"), (2, "width_mm")))
    found = replace(quote_planned(records), quotes=[], rejects=rejects)
    assert quoted.build(found).answer == "No crack is quoted: 1 row was rejected."


def test_a_crack_too_narrow_to_inject_has_no_price(records: Records) -> None:
    page = page_of.build(records, {"width_mm": "0.03", "length_m": "3"})
    assert "crack: no price. 0.03" in page.answer
    assert page.answer.endswith("do not quote as injectable.")
    assert not [part for part in every_part(page.parts) if isinstance(part, Figures)]
    assert any(isinstance(part, Reasons) for part in page.parts)
