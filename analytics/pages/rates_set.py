"""What things cost, on the price book's page: the rates in force and to come, and the form that sets another."""

from decimal import Decimal

import polars as pl

from analytics.answers import setting_rates
from analytics.answers.currencies import require_own
from analytics.answers.records import Records
from analytics.contract import words
from analytics.contract.columns import MONEY_SCALE, RATE_SCALE
from analytics.contract.tables import RATE_UNITS
from analytics.contract.units import System, displayed, shown_unit
from analytics.decisions.costs import ITEM_WORDS, RatesInForce, to_cent
from analytics.pages.asking import ask, today
from analytics.pages.form import Field, Fieldset, Form, Typed
from analytics.pages.page import Column, Folded, Section, Table

TITLE = "What things cost"


def section(records: Records) -> Section:
    """Every rate in force and to come, and the form for who may set one."""
    now = records.ask("current_rates")
    ahead = records.ask("rates_ahead").sort("effective_on", "item")
    return Section(
        TITLE,
        (_table(now, ahead, records.policy.display), Folded("Change a rate", (_form(records, RatesInForce.of(now)),))),
    )


def _table(now: pl.DataFrame, ahead: pl.DataFrame, system: System) -> Table:
    """The rates in the order of the items, those to come beneath, each with its day."""
    order = {item: place for place, item in enumerate(ITEM_WORDS)}
    held = now.sort(pl.col("item").cast(pl.String).replace_strict(order)).with_columns(counts=pl.lit("in force"))
    rows = pl.concat([held, ahead.with_columns(counts=pl.lit("once the records reach that day"))])
    own = _in_own_units(rows, system)
    columns = (
        Column("item", "item"),
        _amount(rows),
        *((Column("own", "in your units"),) if any(own) else ()),
        Column("effective_on", "from"),
        *((Column("counts", "counts"),) if ahead.height else ()),
    )
    said = pl.col("item").cast(pl.String).replace_strict(ITEM_WORDS)
    shown = rows.with_columns(said, own=pl.Series(own, dtype=pl.String))
    return Table(columns, shown, title=TITLE, empty="No rate is in force.")


def _in_own_units(rows: pl.DataFrame, system: System) -> list[str | None]:
    """The amount of one of the reader's units, where an item is sold in a unit that the reader has another for."""
    with displayed(system):
        return [
            words.number(amount, MONEY_SCALE, f"{currency}/{unit}") if (unit := other_unit(item)) else None
            for item, amount, currency in rows.select("item", "amount", "currency").iter_rows()
        ]


def other_unit(item: str) -> str:
    """The unit an item is sold in where the reader has another for it."""
    unit = RATE_UNITS.get(item, "")
    return unit if shown_unit(unit) != unit else ""


def digits_of_rates(*amounts: Decimal) -> int:
    """The digits behind the point that these rates need: those of money, further where one is finer than the cent."""
    return RATE_SCALE if any(amount != to_cent(amount) for amount in amounts) else MONEY_SCALE


def _amount(rows: pl.DataFrame) -> Column:
    """The amounts to the cent, further where one is; their currency where all have the same, else each its own."""
    currencies = rows["currency"].cast(pl.String).unique().to_list()
    told = {"unit": currencies[0]} if len(currencies) == 1 else {"under": "currency"}
    return Column("amount", "amount", kind="number", digits=digits_of_rates(*rows["amount"]), **told)


def _form(records: Records, rates: RatesInForce) -> Form:
    """The form of a rate; its currency is asked for only where those in force do not say it."""
    known = rates.one_currency
    fields = (
        Field("item", "item", kind="choice", options=ITEM_WORDS, default=next(iter(ITEM_WORDS))),
        ask("rates", "amount", currency=known),
        *(() if known else (ask("rates", "currency"),)),
        today(ask("rates", "effective_on")),
    )
    typed_in = {"currency": known} if known else {}

    def submit(typed: Typed) -> str:
        require_own("amount", typed.get("amount", ""), known or typed.get("currency", "").strip())
        return str(setting_rates.set_rate(records.store.path, {**typed, **typed_in}))

    return Form("rate", "Set this rate", (Fieldset(fields),), submit, _note(records), needs="rate")


def _note(records: Records) -> str:
    if records.as_of is None:
        return "A rate counts once the records reach its day."
    return (
        f"Prices are worked out at the rates of {words.full_day(records.as_of)}, the day the records reach; one from a "
        "later day counts once they reach it. A rate of the same item and day gives way."
    )
