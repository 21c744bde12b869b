"""Commands about money: what is set aside, and what to charge."""

from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from analytics.cli.options import DAY, format_option, level_option, named, store_option
from analytics.cli.printing import emit, working
from analytics.contract.bounds import RESERVE_LEVEL, USUAL_LEVEL
from analytics.contract.rows import Rows

if TYPE_CHECKING:
    from analytics.pages.page import Page


@click.command(epilog="Example: leakback reserve --level 0.9 --format json")
@level_option(RESERVE_LEVEL)
@click.option(
    "--since",
    type=DAY,
    help="Say how it moved since this day (year-month-day); else since the end of the last quarter.",
)
@store_option
@format_option
def reserve(level: float, since: date | None, store: Path, form: str) -> None:
    """Work out what to set aside for leak-backs under warranty: how many, when, what they cost."""
    from analytics.answers import reserving
    from analytics.answers.records import Records
    from analytics.pages.reserve import card

    records = Records.of(store)
    with working("working out the warranty reserve"):
        found = reserving.reserve(records, level=level, since=since)
    emit(form, found.answer, "by_quarter", lambda: card(found))


class _Amount(click.ParamType[Decimal]):
    """A decimal number, kept exact."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Decimal:  # noqa: ANN401
        try:
            amount = Decimal(str(value))
        except InvalidOperation:
            self.fail(f"{value!r} is no number", param, ctx)
        if not amount.is_finite():
            self.fail(f"{value!r} is no number", param, ctx)
        return amount


AMOUNT = _Amount()


@click.command(epilog="Example: leakback prices --by resin,water --margin 0.4 --format csv")
@click.option("--by", default="resin,width_band,access,water", show_default=True, help="Kinds of work, by groupings.")
@click.option("--months", type=int, default=24, show_default=True, help="Work of the last months.")
@click.option("--margin", type=AMOUNT, default=None, help="Share of the price, in place of the policy's.")
@click.option("--scenario", default=None, metavar="NAME", help="As a saved scenario has it.")
@level_option(USUAL_LEVEL)
@store_option
@format_option
def prices(
    by: str, months: int, margin: Decimal | None, scenario: str | None, level: float, store: Path, form: str
) -> None:
    """Build the price book: what a metre of each kind of crack costs, should cost the customer, and did."""
    from analytics.answers import pricing, scenarios
    from analytics.answers.records import Records
    from analytics.answers.winning import winning
    from analytics.decisions.scenarios import AS_IT_IS
    from analytics.pages import rates_set
    from analytics.pages.prices import TODAY, card

    records = Records.of(store)
    under = (scenarios.called(records, scenario) if scenario else AS_IT_IS).aiming_at(margin)
    with working("building the price book"):
        basis = pricing.basis(records, months)
        book = pricing.book(records, basis, named(by), months=months, level=level, scenario=under)
        compared = scenarios.side_by_side(records, basis, months, level)
        won = winning(records, margin=book.margin)

    def answer() -> dict[str, Any]:
        side_by_side = [each.answer() for each in compared]
        return {**book.answer(), "scenario": scenario, "scenarios": side_by_side, "winning": won.answer()}

    def page() -> "Page":
        if scenario:  # which may have other rates than those in force
            return card(book, compared, won, costs=f"In the scenario {scenario}")
        return card(book, compared, won, costs=TODAY, rates=(rates_set.section(records),))

    emit(form, answer, "rows", page)


@click.group(epilog="Example: leakback scenario save dearer-labour --labour-hour 75")
def scenario() -> None:
    """Save what-ifs of the price book by name."""


@scenario.command(epilog="Example: leakback scenario save dearer-labour --labour-hour 75")
@click.argument("name")
@click.option("--labour-hour", metavar="PRICE", help="An hour of labour.")
@click.option("--travel-hour", metavar="PRICE", help="An hour of travel.")
@click.option("--epoxy-litre", metavar="PRICE", help="A litre of epoxy, or such as '95 per gal'.")
@click.option("--urethane-foam-litre", metavar="PRICE", help="A litre of urethane foam, or such as '95 per gal'.")
@click.option("--warranty-months", type=int, default=None, help="Months of warranty on every crack.")
@click.option("--margin", type=AMOUNT, default=None, help="Share of the price.")
@click.option("--prep", is_flag=True, help="Extra prep on the cracks that would be flagged for it.")
@store_option
@format_option
def save(
    name: str,
    warranty_months: int | None,
    margin: Decimal | None,
    prep: bool,
    store: Path,
    form: str,
    **rates: str | None,
) -> None:
    """Save a scenario as NAME, in place of one of that name."""
    from analytics.answers import scenarios
    from analytics.answers.records import Records
    from analytics.pages.scenario_table import listed

    records = Records.of(store)
    read = scenarios.rates_typed(records, {item: text or "" for item, text in rates.items()})
    kept = scenarios.save(records, name, **read, warranty_months=warranty_months, margin=margin, prep=prep)
    emit(form, lambda: {"rows": _rows({name: kept})}, "rows", lambda: listed(scenarios.saved(records)))


@scenario.command("list", epilog="Example: leakback scenario list")
@store_option
@format_option
def list_(store: Path, form: str) -> None:
    """List the saved scenarios."""
    from analytics.answers import scenarios
    from analytics.answers.records import Records
    from analytics.pages.scenario_table import listed

    saved = scenarios.saved(Records.of(store))
    emit(form, lambda: {"rows": _rows(saved)}, "rows", lambda: listed(saved))


@scenario.command(epilog="Example: leakback scenario remove dearer-labour")
@click.argument("name")
@store_option
@format_option
def remove(name: str, store: Path, form: str) -> None:
    """Remove the scenario called NAME."""
    from analytics.answers import scenarios
    from analytics.answers.records import Records
    from analytics.pages.scenario_table import listed

    records = Records.of(store)
    scenarios.remove(records, name)
    left = scenarios.saved(records)
    emit(form, lambda: {"rows": _rows(left)}, "rows", lambda: listed(left))


def _rows(saved: dict[str, Any]) -> Rows:
    from analytics.decisions.scenarios import Scenario

    return Rows(({"name": name, **each.changes()} for name, each in saved.items()), ("name", *Scenario.model_fields))
