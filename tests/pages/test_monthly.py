"""The owner's month on the demo: put together from the other pages, with their numbers."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import polars as pl
import pytest

from analytics import metrics
from analytics.answers import pricing
from analytics.answers.monthly import at_the_end, work_of
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.month import Month
from analytics.contract.roles import RIGHTS, ROLES
from analytics.pages import crews, leak_backs, monthly, papers, prices
from analytics.pages.measured import estimate
from analytics.pages.page import Chart, Document, Figure, Figures, Page, Section, Table, Words
from analytics.pages.seen_by import seen_by
from tests.answers.test_currencies import NEW, SAID, changed_over
from tests.answers.test_pricing import RATES, history

Opener = Callable[..., Records]


@pytest.fixture(scope="module")
def records(demo_store: Path) -> Records:
    return Records.of(demo_store)


@pytest.fixture(scope="module")
def report(records: Records) -> Document:
    return monthly.build(records, Month(2026, 10), papers.about(records))


def section(document: Document, title: str) -> Section:
    [found] = [part for part in document.pages[0].parts if isinstance(part, Section) and part.title == title]
    return found


def said(part: Section) -> list[str]:
    return [inner.text for inner in part.parts if isinstance(inner, Words)]


def test_it_opens_with_the_month_and_a_rate_with_its_interval(report: Document, records: Records) -> None:
    answer = report.pages[0].answer
    assert answer.startswith("October 2026: ")
    [row] = metrics.measure(records.ask, leak_backs.RATE, months=24).rows.to_dicts()
    assert f"{estimate(leak_backs.RATE, row)} leaked back within 24 months" in answer
    assert report.about.startswith("An invented business")


def test_what_other_pages_say_is_said_the_same(report: Document, records: Records) -> None:
    assert said(section(report, "How finished work is holding"))[0] == leak_backs.build(records, {}).answer
    assert said(section(report, "Crews"))[0] == crews.build(records, {}).answer


def test_the_reserves_figures_stand_by_its_sentence_before_the_picture(report: Document) -> None:
    kinds = [type(part) for part in section(report, "Reserve").parts]
    assert kinds[:3] == [Words, Figures, Chart]
    assert set(kinds[3:]) == {Words}


def figures(document: Document) -> dict[str, Figure]:
    [shown] = [part for part in section(document, "The month").parts if isinstance(part, Figures)]
    return {figure.label: figure for figure in shown.rows}


@pytest.mark.parametrize("month", [Month(2026, 10), Month(2025, 3)])
def test_what_the_work_cost_is_said_beside_what_was_charged(records: Records, month: Month) -> None:
    shown = figures(monthly.build(records, month))
    assert list(shown).index("cost of the work") == list(shown).index("charged") + 1
    cost, then = shown["cost of the work"], at_the_end(records, month)
    known = pricing.costs_of(then, work_of(records, month).done)
    assert (cost.value, cost.unit) == (known["direct"].sum(), "USD")
    assert cost.count == f"known for {known.height} of {shown['cracks repaired'].value} cracks"
    assert cost.note == "not the same work as what was charged"


def test_what_was_charged_and_what_it_cost_are_said_of_the_same_jobs(records: Records) -> None:
    month = Month(2026, 10)
    shown, then = figures(monthly.build(records, month)), at_the_end(records, month)
    done = work_of(records, month).done
    known = pricing.costs_of(then, done)
    per_job = [(job, known.filter(job_id=job)) for job in done["job_id"].unique().sort()]
    whole = {job: costs["direct"].sum() for job, costs in per_job if costs.height == done.filter(job_id=job).height}
    terms = then.ask("job_terms").filter(pl.col("job_id").is_in(list(whole))).drop_nulls("price_charged")
    charged, cost = (shown[f"{name}, where both are known"] for name in ("charged", "cost"))
    assert charged.value == pytest.approx(float(terms["price_charged"].sum()))
    assert cost.value == pytest.approx(sum(whole[job] for job in terms["job_id"]))
    assert charged.count == cost.count == f"{terms.height} of {shown['jobs finished'].value} jobs"


def test_where_all_is_known_nothing_is_said_twice(records_of: Opener) -> None:
    shown = figures(monthly.build(records_of(history()), Month(2024, 1)))
    assert shown["cost of the work"].note == ""
    assert not [label for label in shown if "both" in label]


def test_without_a_rate_the_report_says_which(records_of: Opener) -> None:
    rates = [rate for rate in RATES if rate["item"] != "port_each"]
    cost = figures(monthly.build(records_of({**history(), "rates": rates}), Month(2024, 1)))["cost of the work"]
    assert cost.value is None
    assert cost.note.startswith("no rate for a port (port_each) is in force")


def test_what_was_recorded_of_all_is_said_plainly_and_of_some_with_how_many(records_of: Opener) -> None:
    tables = history()
    charged = figures(monthly.build(records_of(tables), Month(2024, 1)))["charged"]
    assert charged.count == "6 jobs"
    first, *others = tables["jobs"]
    jobs = [{**first, "price_charged": None}, *others]
    charged = figures(monthly.build(records_of({**tables, "jobs": jobs}), Month(2024, 1)))["charged"]
    assert charged.count == "recorded for 5 of 6 jobs"


def test_charges_in_the_money_of_before_are_left_out_of_the_month_and_that_is_said(records_of: Opener) -> None:
    told = changed_over()
    days = ("2024-06-10", "2024-06-20")
    jobs = [*told["jobs"][:4], *({**job, "done_on": day} for job, day in zip(told["jobs"][4:], days, strict=True))]
    rates = [*RATES, *({**rate, "effective_on": "2024-06-15"} for rate in NEW)]
    shown = figures(monthly.build(records_of({**told, "jobs": jobs, "rates": rates}), Month(2024, 6)))["charged"]
    assert (shown.value, shown.unit, shown.count) == (300, "USD", "counted for 1 of 2 jobs")
    assert shown.note == SAID.replace("1 June", "15 June")


def test_what_too_little_work_would_take_is_said_of_the_reserve_too(records_of: Opener) -> None:
    document = monthly.build(records_of(history()), Month(2024, 1))
    opened, wanting, *_ = said(section(document, "Reserve"))
    assert opened == "Nothing can be set aside by numbers yet."
    assert "too few for a risk model" in wanting


def test_coming_cracks_are_counted_out_of_all_that_are_planned_until_then(report: Document, records: Records) -> None:
    until = report.as_of + monthly.AHEAD if report.as_of else date.max
    ahead = records.ask("planned_cracks").filter(pl.col("planned_on") <= until).height
    first = said(section(report, "Coming jobs that need something"))[0]
    assert f" of {ahead} cracks planned until {words.full_day(until)} need something before the work." in first


def test_coming_cracks_stand_in_the_order_of_their_days_and_that_is_said(report: Document) -> None:
    coming = section(report, "Coming jobs that need something")
    assert said(coming)[0].endswith(" They stand in the order of their days.")
    [table] = [part for part in coming.parts if isinstance(part, Table)]
    days = table.rows["planned_on"].to_list()
    assert days == sorted(days)
    assert len(set(days)) > 1


def test_only_who_may_see_prices_is_offered_the_report(records: Records) -> None:
    page = Page("", monthly.offered(records))
    shown = [role for role in ROLES if seen_by(RIGHTS[role], page, ()).parts]
    assert shown == ["owner"]
    blind = replace(RIGHTS["owner"], closed=frozenset({prices.PATH}))
    assert not seen_by(blind, page, ()).parts


def test_leak_backs_found_are_counted_in_the_sentence(report: Document) -> None:
    [table] = [part for part in section(report, "Leak-backs found").parts if isinstance(part, Table)]
    assert f"{table.rows.height} leak-backs were found" in report.pages[0].answer
    assert set(table.rows["reported_on"].dt.month()) == {10}


def test_an_earlier_month_leaves_out_what_is_only_known_today(records: Records) -> None:
    document = monthly.build(records, Month(2025, 3))
    titles = [part.title for part in document.pages[0].parts if isinstance(part, Section)]
    assert "Crews" not in titles
    assert said(section(document, "Coming jobs that need something")) == [
        "Crews, coming jobs and the reserve are as they stand today: see the report of October 2026."
    ]
    assert document.as_of == Month(2025, 3).last_day
