"""The page of prices: the sentence, what was sold below its floor first, scenarios and win rates beneath."""

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import polars as pl
import pytest

from analytics.answers import pricing, scenarios
from analytics.answers.records import Records
from analytics.contract.units import displayed
from analytics.decisions.scenarios import AS_IT_IS
from analytics.pages import prices
from analytics.pages.form import Form
from analytics.pages.offers import offers
from analytics.pages.page import Chart, Page, Section, Table, Words
from analytics.pages.scenario_table import said
from analytics.pages.within import every_part
from tests.answers.test_pricing import history

Opener = Callable[..., Records]


def headings(page: Page) -> list[str]:
    return [part.title for part in page.parts if isinstance(part, Section)]


@pytest.fixture(scope="module")
def demo(demo_store: Path) -> Page:
    return prices.build(Records.of(demo_store), {})


def test_it_opens_with_floor_target_and_charge(demo: Page) -> None:
    assert re.match(r"At today's costs, none of \d+ kinds of work of the last 24 months was sold", demo.answer)
    for word in ("the floor is", "the target", "the charge", "USD/m"):
        assert word in demo.answer


def test_then_one_picture_then_the_table(demo: Page) -> None:
    assert [type(part) for part in demo.parts[:2]] == [Chart, Table]
    table = demo.parts[1]
    assert isinstance(table, Table)
    assert [column.key for column in table.columns][:2] == ["kind", "cracks"]
    assert table.columns[-1].label == "left above the floor"
    assert "epoxy, running" in table.rows["kind"].to_list()


def test_win_rates_carry_their_warning(demo: Page) -> None:
    assert headings(demo) == ["What it is built up from", "What things cost", "What if", "Which quotes were won"]
    assert any(isinstance(part, Words) and "not set at random" in part.text for part in every_part(demo.parts))


def test_saved_scenarios_stand_side_by_side(records_of: Opener) -> None:
    records = records_of(history())
    scenarios.save(records, "dearer labour", labour_hour=Decimal(75), margin=Decimal("0.385"))
    page = prices.build(records, {})
    (what_if,) = (part for part in page.parts if isinstance(part, Section) and part.title == "What if")
    (table,) = (part for part in what_if.parts if isinstance(part, Table))
    assert table.rows["name"].to_list() == ["as it is", "dearer labour"]
    assert table.rows["changes"].to_list() == ["nothing changed", "an hour of labour at 75.00, a margin of 38.5\u202f%"]


def test_a_reader_of_gallons_is_told_a_scenarios_price_of_one() -> None:
    changes = {"labour_hour": Decimal(75), "epoxy_litre": Decimal("25.0963"), "warranty_months": 24}
    metric = "an hour of labour at 75.00, a litre of epoxy at 25.0963, a warranty of 24 months"
    assert said(changes) == metric
    with displayed("us"):
        assert said(changes) == metric.replace("25.0963", "25.0963 (95.00\u202f/gal)")


def test_what_costs_less_than_a_cent_is_not_listed_as_nothing() -> None:
    changes = {"epoxy_litre": Decimal("0.001")}
    assert said(changes) == "a litre of epoxy at 0.0010"
    with displayed("us"):  # 3.785411784 L a US gallon: NIST Special Publication 811, Appendix B
        assert said(changes) == "a litre of epoxy at 0.0010 (0.0038\u202f/gal)"


def test_leak_backs_that_are_not_known_are_no_column_of_noughts(records_of: Opener, demo: Page) -> None:
    records = records_of(history())
    scenarios.save(records, "dearer labour", labour_hour=Decimal(75))
    page = prices.build(records, {})
    assert any(
        isinstance(part, Words) and part.text.startswith("Leak-backs are not in the floor") for part in page.parts
    )
    for shown, there in ((page, False), (demo, True)):
        titles = {"What a metre is built up from", "Scenarios side by side"}
        tables = [part for part in every_part(shown.parts) if isinstance(part, Table) and part.title in titles]
        assert tables
        assert all(("leak-backs" in {column.label for column in table.columns}) == there for table in tables)


def test_work_sold_below_its_floor_is_named_first(records_of: Opener) -> None:
    page = prices.build(records_of(history(price_charged=100)), {"by": "resin"})
    assert page.answer.startswith("At today's costs, 1 kind of work of the last 24 months was sold below the floor, ")
    assert "epoxy most, at \u221230\u202fEUR/m" in page.answer
    table = next(part for part in page.parts if isinstance(part, Table))
    assert "below" in [column.key for column in table.columns]


def test_a_missing_rate_is_said_and_can_be_set_there(records_of: Opener) -> None:
    rates = [rate for rate in history()["rates"] if rate["item"] != "epoxy_litre"]
    records = records_of({**history(), "rates": rates})
    page = prices.build(records, {})
    assert page.answer == "No prices yet."
    assert page.wanting.startswith("No prices: no rate for a litre of epoxy (epoxy_litre) is in force")
    assert headings(page) == ["What things cost"]
    (form,) = offers(page.parts)
    assert isinstance(form, Form)
    said = form.submit({"item": "epoxy_litre", "amount": "40", "effective_on": "2023-01-01"})
    assert said.startswith("Recorded: a litre of epoxy at 40 EUR from 1 January 2023.")
    assert prices.build(Records.of(records.store.path), {}).answer.startswith("At today's costs, ")


def test_every_grouping_offered_can_be_asked_for(demo_store: Path) -> None:
    records = Records.of(demo_store)
    known = pricing.basis(records, 6)
    for by in prices.BY.options:
        book = pricing.book(records, known, by.split(","), months=6, level=0.95, scenario=AS_IT_IS)
        assert prices.card(book, []).answer


@pytest.mark.parametrize(
    ("below", "said"),
    [
        (["perhaps"], "the one kind of {} was not surely sold below its floor, 1 perhaps: "),
        (["no", "perhaps"], "none of 2 kinds of {} was surely sold below its floor, 1 perhaps: "),
        (["no", None], "the one kind of {} with jobs enough to tell was not sold below its floor: "),
        ([None], "no kind of {} has jobs enough to be held against its floor: "),
    ],
)
def test_what_cannot_be_told_is_not_counted_as_sold_above_its_floor(
    records_of: Opener, below: list[str | None], said: str
) -> None:
    book = pricing.prices(records_of(history()), ["resin"], margin=Decimal("0.25"))
    rows = pl.concat([book.rows.head(1)] * len(below)).with_columns(below=pl.Series(below, dtype=pl.String))
    assert prices.card(replace(book, rows=rows), []).answer.startswith(
        f"At today's costs, {said.format('work of the last 24 months')}"
    )


def test_the_kinds_with_least_left_are_laid_out_and_a_file_has_all(demo_store: Path) -> None:
    page = prices.build(Records.of(demo_store), {"by": "resin,width_band,access,water"})
    book, built_up = (part for part in every_part(page.parts) if isinstance(part, Table) and "metre" in part.title)
    assert book.listed.height == prices.MOST_LISTED < book.rows.height
    left = book.rows["left_per_metre"]
    assert left.drop_nulls().is_sorted()
    assert f"Not shown: {book.rows.height - prices.MOST_LISTED} more kinds of work." in book.note
    assert built_up.rows["kind"][0] == "all of them"
    assert built_up.rows.height == book.rows.height + 1
