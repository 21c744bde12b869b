"""What a repair costs at the day's rates, what its leak-backs will cost, and the price that carries both.

Amounts are Decimal in the currency of the rates, kept exact; ``to_cent`` rounds what is shown or sold at. The few
lines of arithmetic that a price book needs over whole columns (``worked``, ``price_floor``, ``price_target``) take
Decimal, float or polars expressions alike, all of one kind in a call.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import TypeVar

import numpy as np
import polars as pl

from analytics.contract.ages import DAYS_PER_YEAR, MINUTES_PER_HOUR, MONTHS_PER_YEAR, months_of
from analytics.contract.bounds import USUAL_LEVEL
from analytics.errors import LeakbackError
from analytics.risk import HazardModel, chance, cumulative

Amount = TypeVar("Amount", Decimal, float, pl.Expr)
CENT = Decimal("0.01")
NO_MARGIN = (
    "No target: set the margin you aim for on the page Policy, or with leakback policy --set margin 0.35 for 35 %."
)
NO_SEAL = (
    "The seal is not in the cost: give its density, from the product's data sheet, on the page Policy, or with "
    "leakback policy --set seal_kg_per_litre 1.4 for 1.4 kg per litre."
)
NO_LEAK_BACK_COST = (
    "Leak-backs are not in the floor: what one costs is not known. It takes the minutes spent on your own leak-backs "
    "and a rate for an hour of labour."
)
NO_TRAVEL_RATE = "Travel to leak-backs is not in their cost: it has no rate."
ITEM_WORDS = {
    "labour_hour": "an hour of labour",
    "travel_hour": "an hour of travel",
    "epoxy_litre": "a litre of epoxy",
    "urethane_foam_litre": "a litre of urethane foam",
    "port_each": "a port",
    "seal_kg": "a kilogram of seal",
}


@dataclass(frozen=True)
class RatesInForce:
    """What one unit of each item costs on a day, by item; items without a rate are absent."""

    amounts: Mapping[str, Decimal]
    currencies: tuple[str, ...] = ()

    @classmethod
    def of(cls, current_rates: pl.DataFrame) -> "RatesInForce":
        """The rates of the frame ``current_rates``: item, amount, currency."""
        currencies = current_rates["currency"].cast(pl.String).unique().sort()
        return cls(
            {str(row["item"]): Decimal(row["amount"]) for row in current_rates.to_dicts()}, tuple(currencies.to_list())
        )

    @property
    def currency(self) -> str:
        """The currency of every amount, empty where there is no rate; the first where they are in several."""
        return self.currencies[0] if self.currencies else ""

    @property
    def one_currency(self) -> str:
        """The currency of every amount, empty where there is no rate or where they are in several."""
        return self.currency if len(self.currencies) == 1 else ""

    def need(self, item: str) -> Decimal:
        """The rate of ``item``; LeakbackError naming it where there is none, or where currencies are mixed."""
        if len(self.currencies) > 1:
            raise LeakbackError(
                f"the rates in force are in {' and '.join(self.currencies)}: costs can only be added up in one "
                "currency; load rates in one"
            )
        if item not in self.amounts:
            words = ITEM_WORDS.get(item, item)
            raise LeakbackError(f"no rate for {words} ({item}) is in force: load one, or set it under Prices")
        return self.amounts[item]


@dataclass(frozen=True, slots=True)
class Quantities:
    """What goes into one crack: its ``resin`` by the contract's word, minutes of persons, the seal None if not counted.

    ``travel_minutes`` and ``set_up_minutes`` are the crack's share of the job's.
    """

    resin: str
    litres: float
    ports: int
    labour_minutes: float
    seal_kg: float | None = None
    travel_minutes: float = 0.0
    set_up_minutes: float = 0.0


@dataclass(frozen=True, slots=True)
class Costs:
    """What one crack costs, by what it goes to, before leak-backs; ``seal`` None where it is not counted."""

    resin: Decimal
    ports: Decimal
    seal: Decimal | None
    labour: Decimal
    travel: Decimal

    @property
    def material(self) -> Decimal:
        """Resin, ports and, where counted, the seal."""
        return self.resin + self.ports + (self.seal or Decimal(0))

    @property
    def direct(self) -> Decimal:
        """Material, labour with set-up, and travel."""
        return self.material + self.labour + self.travel


def costs(work: Quantities, rates: RatesInForce) -> Costs:
    """The costs of one crack's work; LeakbackError naming the first item that has no rate.

    Travel needs no rate where none is driven, the seal none where it is not counted.
    """
    driven = exact(work.travel_minutes)
    return Costs(
        resin=exact(work.litres) * rates.need(f"{work.resin}_litre"),
        ports=work.ports * rates.need("port_each"),
        seal=None if work.seal_kg is None else exact(work.seal_kg) * rates.need("seal_kg"),
        labour=worked(exact(work.labour_minutes) + exact(work.set_up_minutes), rates.need("labour_hour")),
        travel=worked(driven, rates.need("travel_hour")) if driven else Decimal(0),
    )


def worked(minutes: Amount, hour: Amount) -> Amount:
    """The cost of ``minutes`` at a rate an hour."""
    return minutes * hour / MINUTES_PER_HOUR


def shared(job_minutes: float, cracks_on_job: int) -> float:
    """A crack's equal share of what a job takes once (travel, set-up); LeakbackError where the job has no crack."""
    if cracks_on_job < 1:
        raise LeakbackError(f"a job of {cracks_on_job} cracks cannot share its travel: give 1 or more")
    return job_minutes / cracks_on_job


def leak_back_share(expected_leak_backs: Amount, cost_each: Amount) -> Amount:
    """What a leak-back under warranty is expected to cost: how many first ones are expected, times what one costs."""
    return expected_leak_backs * cost_each


def price_floor(direct: Amount, leak_back: Amount) -> Amount:
    """The price at which nothing is left: material, labour and travel, and the expected leak-back cost."""
    return direct + leak_back


def price_target(floor: Amount, margin: Amount) -> Amount:
    """The price of which ``margin`` (a share of the price) is left above the floor."""
    return floor / (1 - margin)


def margin_at(price: Amount, floor: Amount) -> Amount:
    """The share of ``price`` left above the floor; negative where it is sold below."""
    return (price - floor) / price


def to_cent(amount: Decimal) -> Decimal:
    """Rounded to the cent, half away from zero."""
    return amount.quantize(CENT, ROUND_HALF_UP)


def exact(number: float) -> Decimal:
    """A number as the decimal it is written as: 0.1 is a tenth."""
    return Decimal(str(number))


@dataclass(frozen=True, slots=True)
class LeakBackCost:
    """What putting a leak-back right has cost the business, on average over ``count`` of its own.

    ``error``: the standard error of the mean, None with fewer than two.
    """

    mean: Decimal
    error: float | None
    count: int
    notes: tuple[str, ...] = ()


def each_leak_back(leak_backs: pl.DataFrame, rates: RatesInForce) -> list[Decimal]:
    """What each looked-at leak-back would cost at these rates: labour, travel to and fro, and material.

    ``leak_backs``: the frame ``leak_back_costs`` (labour_minutes, travel_minutes, material_cost). Travel and material
    that are not recorded are taken for the mean of those that are. Travel counts where there is a rate for it.
    LeakbackError where an hour of labour has no rate.
    """
    if leak_backs.is_empty():
        return []
    hour, travel_hour = rates.need("labour_hour"), rates.amounts.get("travel_hour", Decimal(0))
    paid = cache(lambda minutes, rate: worked(exact(minutes), rate))  # minutes are round: few differ
    labour = [paid(minutes, hour) for minutes in leak_backs["labour_minutes"]]
    travel = _filled([None if m is None else paid(m, travel_hour) for m in leak_backs["travel_minutes"]])
    material = _filled([None if cost is None else Decimal(cost) for cost in leak_backs["material_cost"]])
    return [sum(parts, Decimal(0)) for parts in zip(labour, travel, material, strict=True)]


def _filled(amounts: Sequence[Decimal | None]) -> list[Decimal]:
    """Amounts with the mean of those known in the place of the others; 0 where none is known."""
    known = [amount for amount in amounts if amount is not None]
    mean = sum(known, Decimal(0)) / len(known) if known else Decimal(0)
    return [mean if amount is None else amount for amount in amounts]


def leak_back_cost(leak_backs: pl.DataFrame, rates: RatesInForce) -> LeakBackCost | None:
    """The mean cost of a leak-back with its error.

    None where none was looked at, labour has no rate, or the rates are in several currencies.
    """
    if leak_backs.is_empty() or "labour_hour" not in rates.amounts or len(rates.currencies) > 1:
        return None
    each = each_leak_back(leak_backs, rates)
    count = len(each)
    mean = sum(each, Decimal(0)) / count
    error = float(np.std([float(cost) for cost in each], ddof=1)) / count**0.5 if count > 1 else None
    travels = () if "travel_hour" in rates.amounts else (NO_TRAVEL_RATE,)
    notes = (*travels, *_seldom(leak_backs, "material_cost", "material"))
    if not travels:
        notes += _seldom(leak_backs, "travel_minutes", "travel")
    return LeakBackCost(mean, error, count, notes)


def _seldom(leak_backs: pl.DataFrame, column: str, part: str) -> tuple[str, ...]:
    """Of how many leak-backs a part of their cost is recorded, where it is not of all."""
    recorded, count = leak_backs[column].count(), leak_backs.height
    if recorded == count:
        return ()
    if not recorded:
        return (f"The {part} of leak-backs is not in their cost: it was recorded for none.",)
    return (f"{part.capitalize()} was recorded for {recorded} of {count} leak-backs; the others count at their mean.",)


def warranty_days(warranty_months: pl.Series, oldest_days: float) -> pl.Series:
    """Days that each warranty lasts; where blank (as long as the owner holds the house), to the oldest age seen."""
    days = (warranty_months.cast(pl.Float64) * (DAYS_PER_YEAR / MONTHS_PER_YEAR)).floor()
    return days.fill_null(oldest_days)


def warranty_leak_backs(model: HazardModel, cracks: pl.DataFrame, level: float = USUAL_LEVEL) -> pl.DataFrame:
    """Leak-backs expected of each crack over its warranty: crack_id, leak_backs, low, high, in the order of ``cracks``.

    The chance of a first one, as in the reserve: second leak-backs are not foretold. ``cracks`` needs
    warranty_months and what ``analytics.risk.risk`` reads; only what is known before the work is read. ``past_oldest``
    says that the warranty outlasts the oldest repair watched, so that its last hazard is held.
    """
    days = warranty_days(cracks["warranty_months"], model.oldest_days)
    ahead = cumulative(model, cracks, 0.0, days.to_numpy())
    low, high = ahead.between(level)
    return cracks.select("crack_id").with_columns(
        leak_backs=chance(ahead.log), low=chance(low), high=chance(high), past_oldest=days > model.oldest_days
    )


def warranty_note(months: int | None, oldest_days: float) -> str:
    """How far the leak-back cost of a crack under this warranty reaches, in a sentence; empty where nothing is odd."""
    oldest = f"{months_of(oldest_days):.0f} months"
    if months is None:
        return f"The warranty has no end, so leak-backs are counted to the oldest age seen, {oldest}."
    if months * DAYS_PER_YEAR / MONTHS_PER_YEAR > oldest_days:
        return f"Past the oldest age seen, {oldest}, the last hazard is held to the end of the warranty."
    return ""
