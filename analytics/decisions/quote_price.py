"""The price of a planned crack from what it will take: floor, bad end and target, or why there is none."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from analytics.contract.policy import Prices
from analytics.decisions.costs import (
    Costs,
    LeakBackCost,
    Quantities,
    RatesInForce,
    costs,
    exact,
    leak_back_share,
    price_floor,
    price_target,
    shared,
)
from analytics.decisions.quote import Price, Span, TakeOff
from analytics.errors import LeakbackError


@dataclass(frozen=True, eq=False)
class Terms:
    """What prices are made from: the rates, the policy's price part and what a leak-back costs (None: not known)."""

    rates: RatesInForce
    prices: Prices
    leak_back: LeakBackCost | None


@dataclass(frozen=True, slots=True)
class Told:
    """What is foretold of a crack: litres, person-minutes, and the chance of a leak-back under warranty."""

    litres: Span
    minutes: Span
    leak_backs: Span


def price(facts: Mapping[str, Any], take_off: TakeOff, told: Told, terms: Terms) -> tuple[Price, tuple[str, ...]]:
    """The price of a crack and, where there is none, why; leak-backs that are not known are not in the floor."""
    litres, minutes = told.litres.expected, told.minutes.expected
    if litres is None or minutes is None or take_off.ports is None:
        return Price(leak_backs=told.leak_backs), ()
    try:
        middle = costs(_quantities(facts, take_off, litres, minutes, terms.prices), terms.rates)
    except LeakbackError as error:
        return Price(leak_backs=told.leak_backs), (f"No price: {error}.",)
    leaks = _leaks(told.leak_backs.expected, terms)
    floor = price_floor(middle.direct, leaks or Decimal(0))
    margin = terms.prices.margin
    found = Price(
        costs=middle,
        leak_backs=told.leak_backs,
        leak_back_cost=leaks,
        floor=floor,
        bad_end=_bad_end(facts, take_off, told, terms),
        target=None if margin is None else price_target(floor, margin),
    )
    return found, ()


def share_of_job(facts: Mapping[str, Any], prices: Prices) -> tuple[float, float]:
    """A crack's share of its job's travel and set-up, person-minutes; what is not recorded counts as none."""
    cracks = facts["cracks_on_job"] or 1
    return shared(facts["travel_minutes"] or 0.0, cracks), shared(prices.set_up_minutes or 0.0, cracks)


def _quantities(
    facts: Mapping[str, Any], take_off: TakeOff, litres: float, minutes: float, prices: Prices
) -> Quantities:
    travel, set_up = share_of_job(facts, prices)
    density = prices.seal_kg_per_litre
    return Quantities(
        resin=facts["resin"],
        litres=litres,
        ports=take_off.ports or 0,
        labour_minutes=minutes,
        seal_kg=None if density is None or take_off.seal_litres is None else take_off.seal_litres * density,
        travel_minutes=travel,
        set_up_minutes=set_up,
    )


def _bad_end(facts: Mapping[str, Any], take_off: TakeOff, told: Told, terms: Terms) -> Decimal | None:
    """The floor with litres, minutes and leak-backs at their upper ends."""
    if told.litres.high is None or told.minutes.high is None:
        return None
    worst: Costs = costs(_quantities(facts, take_off, told.litres.high, told.minutes.high, terms.prices), terms.rates)
    return price_floor(worst.direct, _leaks(told.leak_backs.high, terms) or Decimal(0))


def _leaks(leak_backs: float | None, terms: Terms) -> Decimal | None:
    if leak_backs is None or terms.leak_back is None:
        return None
    return leak_back_share(exact(leak_backs), terms.leak_back.mean)
