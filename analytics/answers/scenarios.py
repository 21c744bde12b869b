"""What-ifs of the price book, saved by name in the store."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import dataframely as dy
import polars as pl

from analytics.answers import currencies, pricing
from analytics.answers.acting import acting
from analytics.answers.not_recorded import typed_is
from analytics.answers.pricing import BookBasis, PriceBook
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.answers.setting_rates import not_sold_so
from analytics.answers.standing import needs
from analytics.contract.policy import HIGHEST_MARGIN, margin_of_percent
from analytics.contract.tables import TABLES
from analytics.decisions.costs import ITEM_WORDS
from analytics.decisions.scenarios import AS_IT_IS, LONGEST_NAME, RATES, Scenario, scenario
from analytics.errors import LeakbackError, UnknownNameError
from analytics.intake.by_hand import number_of
from analytics.intake.typing_cells import typed as typed_cells
from analytics.store.scenarios import remove_scenario, save_scenario

NAME = re.compile(r"[\w][\w .%+-]*")
AS_IT_IS_NAME = "as it is"
_AMOUNT, _MONTHS = TABLES["rates"].columns()["amount"], TABLES["jobs"].columns()["warranty_months"]
"""How a scenario's figures are read where they are typed."""


@dataclass(frozen=True)
class Priced:
    """The price book's row of all cracks under a scenario; ``row`` None where ``said`` says why."""

    name: str
    changes: Mapping[str, Any]
    row: Mapping[str, Any] | None
    said: tuple[str, ...]

    def answer(self) -> dict[str, Any]:
        """One of the scenarios side by side."""
        return {"name": self.name, "changes": dict(self.changes), "overall": self.row, "said": list(self.said)}


def saved(records: Records) -> dict[str, Scenario]:
    """Every saved scenario by name, the oldest first."""
    rows = records.ask("saved_scenarios").iter_rows(named=True)
    return {row["name"]: Scenario.model_validate_json(row["document"]) for row in rows}


@needs("scenario")
def save(records: Records, name: str, **said: object) -> Scenario:
    """Keep a scenario under a name, in place of one of that name; LeakbackError where it may not be so."""
    if not name:
        raise LeakbackError("give the scenario a name first")
    if not NAME.fullmatch(name) or len(name) > LONGEST_NAME or name == AS_IT_IS_NAME:
        raise LeakbackError(
            f"{name!r} cannot name a scenario: use at most {LONGEST_NAME} letters, digits, spaces and . % + -"
        )
    kept = scenario(**said)
    save_scenario(records.store, name, kept.model_dump_json(), acting(records.store.path))
    return kept


@needs("scenario")
def save_typed(records: Records, typed: Mapping[str, str]) -> str:
    """Keep what was typed as a scenario, and give its name; LeakbackError with the first thing that cannot be so.

    ``typed``: name, what ``Scenario`` has and margin_percent in place of its margin, each as text.
    """
    name = typed.get("name", "").strip()
    save(
        records,
        name,
        **rates_typed(records, typed),
        warranty_months=_read("warranty_months", typed, _MONTHS),
        margin=_margin(_read("margin_percent", typed, _AMOUNT)),
        prep=typed.get("prep") == "true",
    )
    return name


def rates_typed(records: Records, typed: Mapping[str, str]) -> dict[str, Decimal | None]:
    """The rates typed, by item, each of one of the contract's unit; None where nothing was.

    One of another unit that the item is sold by names it, as a rate in force may: ``95 per gal``. LeakbackError for
    the first that is no amount, is per what its item is not sold by, or is in another currency than the rates.
    """
    currency = currencies.of_day(records)
    return {item: _rate(item, typed.get(item) or "", currency) for item in RATES}


def _rate(item: str, text: str, currency: str) -> Decimal | None:
    what = ITEM_WORDS[item]
    currencies.require_own(what, text, currency)
    if wrong := not_sold_so(item, text):
        raise LeakbackError(wrong)
    value, fault = number_of(text, _AMOUNT)
    if fault:
        raise LeakbackError(f"{what}: {typed_is(text, fault)}")
    return Decimal(f"{value.normalize():f}") if isinstance(value, Decimal) else None


def _margin(percent: Decimal | None) -> Decimal | None:
    """The share of a price; LeakbackError for what is no percent of it, such as a share typed for one."""
    if percent is None:
        return None
    share = margin_of_percent(percent)
    if share is None:
        typed, highest = f"{float(percent):g} %", 100 * HIGHEST_MARGIN
        raise LeakbackError(
            f"margin {typed}: give it in percent of the price, 38 for 38 %, 0 or from 1 to {highest:.0f}"
        )
    return share


def _read(name: str, typed: Mapping[str, str], column: dy.Column) -> Any:  # noqa: ANN401 - what the column holds
    """What was typed under ``name`` as a cell of ``column`` is read; None where nothing was."""
    values, faults = typed_cells(pl.Series(name, [typed.get(name) or None], dtype=pl.String), column)
    if faults:
        raise LeakbackError(f"{name.replace('_', ' ')}: {faults[0]}")
    return values[0]


@needs("scenario")
def remove(records: Records, name: str) -> None:
    """Forget the scenario of that name; UnknownNameError where there is none."""
    called(records, name)
    remove_scenario(records.store, name, acting(records.store.path))


def called(records: Records, name: str) -> Scenario:
    """The scenario saved under ``name``; UnknownNameError where there is none."""
    known = saved(records)
    if not known:
        raise LeakbackError(f"no scenario {name!r}: none is saved yet; see leakback scenario save --help")
    if name not in known:
        kind = "scenario"
        raise UnknownNameError(kind, name, known)
    return known[name]


@remembered
def side_by_side(records: Records, basis: BookBasis, months: int, level: float) -> list[Priced]:
    """All work of ``basis`` as it is and under each saved scenario; empty where none is saved."""
    known = saved(records)
    if not known:
        return []
    books = {
        name: (each, pricing.book(records, basis, (), months=months, level=level, scenario=each))
        for name, each in {AS_IT_IS_NAME: AS_IT_IS, **known}.items()
    }
    return [_priced(name, each, book) for name, (each, book) in books.items()]


def _priced(name: str, each: Scenario, book: PriceBook) -> Priced:
    overall = book.answer()["overall"]
    return Priced(name, each.changes(), overall, () if overall else book.said)
