"""What leak-backs on work under warranty are still to come: how many, when, and what they will cost.

Every crack under warranty that has held so far carries its hazard over the rest of its warranty. The interval holds
what the records leave open about the hazard (the fit's covariance by job), chance, and how dear a leak-back turns out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.decisions.quarters import periods, quarter_ends
from analytics.errors import LeakbackError, TooFewError
from analytics.risk import Ahead, Foreseen, HazardModel

Array = NDArray[np.float64]
DRAWS = 4000
SEED = 20260
"""One seed, so that the same records give the same answer."""
AT_ONCE = 2_000_000
"""Leak-backs priced at a time, so that a large business's 4000 draws take no more memory than a small one's."""
FEWEST_COSTS = 5
"""Leak-backs whose cost is known; with fewer nothing is said about money."""


@dataclass(frozen=True, eq=False)
class Range:
    """An expected value and its interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Reserve:
    """Leak-backs to come and their cost (None where too few costs are known).

    ``by_quarter``: quarter, from, to; ``by_year``: year, cracks; both with expected_leak_backs, low, high,
    expected_cost, cost_low, cost_high. ``cracks`` are under warranty and have held; ``open_ended`` of them have no
    end of warranty and are counted to the oldest age seen. ``past_oldest`` is the share of the expected leak-backs
    at ages nobody has seen.
    """

    leak_backs: Range
    cost: Range | None
    by_quarter: pl.DataFrame
    by_year: pl.DataFrame
    cracks: int
    open_ended: int
    past_oldest: float


def under_warranty(follow_up: pl.DataFrame, as_of: date, oldest_days: float) -> pl.DataFrame:
    """The cracks that have held and are under warranty after ``as_of``, with their ages that day and at its end.

    Adds age_days and end_days, and ``open_ended`` where the warranty has no end: it is then counted to the oldest
    age seen, and not at all where the crack is as old already.
    """
    age = (pl.lit(as_of) - pl.col("done_on")).dt.total_days().cast(pl.Float64)
    ends = (pl.col("warranty_ends_on") - pl.col("done_on")).dt.total_days().cast(pl.Float64)
    return (
        follow_up.filter(~pl.col("leaked_back"))
        .with_columns(age_days=age, open_ended=pl.col("warranty_ends_on").is_null(), end_days=ends)
        .with_columns(end_days=pl.col("end_days").fill_null(oldest_days))
        .filter(pl.col("end_days") > pl.col("age_days"))
    )


def reserve(
    model: HazardModel, follow_up: pl.DataFrame, as_of: date, costs: Sequence[float], level: float = 0.9
) -> Reserve:
    """The reserve for the done cracks of ``follow_up`` as of a day.

    ``costs`` are what the business's own leak-backs cost each, at today's rates; fewer than FEWEST_COSTS and the
    cost is left out. Leak-backs are counted once a crack. TooFewError where no crack is under warranty.
    """
    if not 0 < level < 1:
        raise LeakbackError(f"a level of {level} is no level: give one between 0 and 1, such as 0.9.")
    held = under_warranty(follow_up, as_of, model.oldest_days)
    if held.is_empty():
        raise TooFewError("no repaired crack is under warranty, so nothing has to be set aside.")
    age, end = held["age_days"].to_numpy(), held["end_days"].to_numpy()
    quarters = quarter_ends(as_of, int(np.ceil(np.max(end - age))))
    days = np.array([(day - as_of).days for day in quarters], dtype=np.float64)
    ahead = Ahead(model, held, age, np.minimum(age[:, None] + days, end[:, None]))
    years, place = np.unique(held["year"].to_numpy(), return_inverse=True)
    priced = Priced(costs, level)
    whole, by_quarter, by_year = ahead.altogether(), ahead.between_ages(), ahead.by_group(place, len(years))
    (total,) = priced.ranges(whole).to_dicts()
    known = total["expected_cost"] is not None
    counted = np.bincount(place, minlength=len(years))
    return Reserve(
        leak_backs=Range(total["expected_leak_backs"], total["low"], total["high"]),
        cost=Range(total["expected_cost"], total["cost_low"], total["cost_high"]) if known else None,
        by_quarter=periods(as_of, quarters).hstack(priced.ranges(by_quarter)),
        by_year=pl.DataFrame({"year": years, "cracks": counted}).hstack(priced.ranges(by_year)),
        cracks=held.height,
        open_ended=int(held["open_ended"].sum()),
        past_oldest=_past_oldest(model, held, total["expected_leak_backs"]),
    )


def expected_each(model: HazardModel, held: pl.DataFrame, to_days: Array | None = None) -> Array:
    """The chance that each crack of ``under_warranty`` leaks back by the age ``to_days``, else under warranty."""
    ends = held["end_days"].to_numpy() if to_days is None else to_days
    return Ahead(model, held, held["age_days"].to_numpy(), ends[:, None]).chances[:, 0]


def cost_draws(counts: NDArray[np.int64], costs: Array, rng: np.random.Generator) -> Array:
    """What each drawn count of leak-backs costs, of the shape of ``counts`` (draws by periods).

    Each leak-back's cost is one of ``costs``, drawn anew; each draw's level of cost is off by as much as the mean of
    so many costs may be.
    """
    each = counts.sum(axis=1)
    parts = [block for block in np.split(counts, _cuts(each)) if len(block)]
    totals = np.concatenate([_totals(block, costs, rng) for block in parts])
    error = costs.std(ddof=1) / np.sqrt(len(costs)) / costs.mean() if len(costs) > 1 else 0.0
    off = np.exp(rng.normal(-(error**2) / 2, error, (len(counts), 1)))
    return np.asarray(totals * off, dtype=np.float64)


def _cuts(each: NDArray[np.int64]) -> NDArray[np.int64]:
    """Where to cut draws of so many leak-backs each, for about ``AT_ONCE`` of them to be priced at once."""
    block = np.cumsum(each) // AT_ONCE
    return np.flatnonzero(np.diff(block)) + 1


def _totals(counts: NDArray[np.int64], costs: Array, rng: np.random.Generator) -> Array:
    """The summed costs of some draws' leak-backs, each cost drawn anew."""
    cells = np.repeat(np.arange(counts.size), counts.reshape(-1))
    drawn = rng.choice(costs, size=len(cells))
    summed = np.bincount(cells, weights=drawn, minlength=counts.size)
    return np.asarray(summed.reshape(counts.shape), dtype=np.float64)


class Priced:
    """Counts and what they cost, at one level; without enough costs the money is null."""

    def __init__(self, costs: Sequence[float], level: float) -> None:
        self._costs = np.sort(np.array(costs, dtype=np.float64))  # drawn by place, so in an order of their own
        self._level = level
        self._known = len(costs) >= FEWEST_COSTS and float(self._costs.mean()) > 0

    def ranges(self, foreseen: Foreseen) -> pl.DataFrame:
        """Expected leak-backs and cost of each group with their intervals, a row a group."""
        rng = np.random.default_rng(SEED)
        counts = foreseen.draws(rng, DRAWS)
        low, high = _ends(counts, self._level)
        cost: Array = np.full(len(low), np.nan)
        cost_low, cost_high = cost, cost
        if self._known:
            cost = foreseen.expected * float(self._costs.mean())
            cost_low, cost_high = _ends(cost_draws(counts, self._costs, rng), self._level)
        found = {
            "expected_leak_backs": foreseen.expected,
            "low": low,
            "high": high,
            "expected_cost": cost,
            "cost_low": cost_low,
            "cost_high": cost_high,
        }
        return pl.DataFrame(found).fill_nan(None)


def _ends(drawn: Array | NDArray[np.int64], level: float) -> tuple[Array, Array]:
    """The ends that leave out equal shares of the draws on either side, each a value that was drawn."""
    out = (1 - level) / 2
    low, high = np.quantile(drawn, out, axis=0, method="lower"), np.quantile(drawn, 1 - out, axis=0, method="higher")
    return np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)


def _past_oldest(model: HazardModel, held: pl.DataFrame, expected: float) -> float:
    """The share of the expected leak-backs at ages past the oldest repair watched."""
    if not expected:
        return 0.0
    seen = np.minimum(held["end_days"].to_numpy(), np.maximum(held["age_days"].to_numpy(), model.oldest_days))
    return 1 - float(expected_each(model, held, seen).sum()) / expected
