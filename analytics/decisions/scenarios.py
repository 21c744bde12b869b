"""What-ifs of the price book: another wage, dearer resin, a longer warranty, another margin, prep on flagged cracks."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Self

import numpy as np
import polars as pl
from numpy.typing import NDArray
from pydantic import Field, ValidationError, model_validator

from analytics.contract.declared import Declared
from analytics.contract.policy import HIGHEST_MARGIN, Policy, Prices
from analytics.contract.tables import LONGEST_WARRANTY_MONTHS
from analytics.decisions.costs import RatesInForce, warranty_days
from analytics.decisions.prep import prep_cost
from analytics.errors import LeakbackError
from analytics.risk import STEPS, HazardModel, chance, log_cumulative

Array = NDArray[np.float64]
MOST_AMOUNT = Decimal(1_000_000)
LONGEST_NAME = 40
RATES = ("labour_hour", "travel_hour", "epoxy_litre", "urethane_foam_litre")
"""The items of the rates that a scenario may change."""
_Amount = Field(default=None, ge=0, le=MOST_AMOUNT)


class Scenario(Declared):
    """What is different in a what-if; None is as it is today. Amounts are in the currency of the rates."""

    labour_hour: Decimal | None = _Amount
    travel_hour: Decimal | None = _Amount
    epoxy_litre: Decimal | None = _Amount
    urethane_foam_litre: Decimal | None = _Amount
    warranty_months: int | None = Field(default=None, ge=1, le=LONGEST_WARRANTY_MONTHS)
    margin: Decimal | None = Field(default=None, ge=0, le=HIGHEST_MARGIN)
    prep: bool = False

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if self == Scenario.model_construct():
            raise ValueError("it changes nothing")
        return self

    def changes(self) -> dict[str, Decimal | int | bool]:
        """What it changes, by name; a rate or a margin of nought is a change."""
        return {name: value for name, value in self.model_dump().items() if value is not None and value is not False}

    def aiming_at(self, margin: Decimal | None) -> "Scenario":
        """The same at another margin, unless it is None; LeakbackError where it is no share of a price."""
        if margin is None:
            return self
        if not 0 <= margin <= HIGHEST_MARGIN:
            raise LeakbackError(
                f"--margin {margin}: give a share of the price, from 0 to {HIGHEST_MARGIN}, such as 0.35"
            )
        return self.model_copy(update={"margin": margin})

    def rates(self, rates: RatesInForce) -> RatesInForce:
        """The rates in force under it."""
        own = {item: amount for item in RATES if (amount := getattr(self, item)) is not None}
        return RatesInForce({**rates.amounts, **own}, rates.currencies)

    def prices(self, prices: Prices) -> Prices:
        """What prices are made to under it."""
        return prices if self.margin is None else prices.model_copy(update={"margin": self.margin})


AS_IT_IS = Scenario.model_construct()
"""Nothing is different."""


def scenario(**said: object) -> Scenario:
    """A what-if from what was said; LeakbackError in one sentence where it may not be so."""
    try:
        return Scenario.model_validate(said)
    except ValidationError as error:
        fault = error.errors()[0]
        name = ".".join(map(str, fault["loc"]))
        wrong = f"{name} = {fault['input']}: {fault['msg'].lower()}" if name else str(fault["ctx"]["error"])
        raise LeakbackError(f"this is no scenario: {wrong}") from error


def with_prep(cracks: pl.DataFrame, flagged: Sequence[str], policy: Policy, rates: RatesInForce) -> pl.DataFrame:
    """``cracks`` with prep_cost and ``prepared`` on those flagged; LeakbackError where prep's cost is not known."""
    cost = prep_cost(policy, rates.need("labour_hour"))
    if cost is None:
        raise LeakbackError("what extra prep costs is not known: give its time and material on the page Policy")
    prepared = pl.col("crack_id").is_in(list(flagged))
    return cracks.with_columns(prepared=prepared, prep_cost=pl.when(prepared).then(float(cost)).otherwise(0.0))


def leak_backs(model: HazardModel, cracks: pl.DataFrame) -> Array:
    """The chance that each crack leaks back under warranty, known before the work; ``prepared`` ones with every step.

    Needs warranty_months, ``prepared`` and what ``analytics.risk.risk`` reads.
    """
    days = warranty_days(cracks["warranty_months"], model.oldest_days).to_numpy()
    habit: Array = chance(log_cumulative(model, cracks, 0.0, days))
    if not cracks["prepared"].any():
        return habit
    done = cracks.with_columns(pl.lit(value=True).alias(step) for step in STEPS)
    with_steps = chance(log_cumulative(model, done, 0.0, days, STEPS))
    found: Array = np.where(cracks["prepared"].to_numpy(), with_steps, habit)
    return found
