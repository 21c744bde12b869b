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

from analytics.contract.bounds import require_level
from analytics.decisions.quarters import PERIOD, periods, quarter_ends
from analytics.errors import TooFewError
from analytics.risk import Ahead, Estimate, Foreseen, HazardModel
from analytics.risk.exposure import age_days
from analytics.stats.intervals import tail

Array = NDArray[np.float64]
DRAWS = 4000
SEED = 20260
"""One seed, so that the same records give the same answer."""
MOST_DRAWN = 2_000_000
"""Costs of leak-backs drawn at once."""
FEWEST_COSTS = 5
"""Leak-backs whose cost is known; with fewer nothing is said about money."""
RANGES = ("expected_leak_backs", "low", "high", "expected_cost", "cost_low", "cost_high")
BY_QUARTER = (*PERIOD, *RANGES)
"""The columns of ``Reserve.by_quarter``."""


@dataclass(frozen=True, eq=False)
class Reserve:
    """Leak-backs to come and their cost (None where too few costs are known).

    ``by_quarter``: as ``BY_QUARTER``; ``by_year``: year, cracks and ``RANGES``. ``cracks`` are under warranty
    and have held; ``open_ended`` of them have no end of warranty and are counted to the oldest age seen.
    ``past_oldest`` is the share of the expected leak-backs at ages nobody has seen.
    """

    leak_backs: Estimate
    cost: Estimate | None
    by_quarter: pl.DataFrame
    by_year: pl.DataFrame
    cracks: int
    open_ended: int
    past_oldest: float


@dataclass(frozen=True, eq=False)
class Drawn:
    """Leak-backs expected of each of k groups (k) and drawn (draws by k); the mean cost of one, and costs drawn."""

    expected: Array
    counts: NDArray[np.int64]
    money: tuple[float, Array] | None

    def ranges(self, level: float) -> pl.DataFrame:
        """Expected leak-backs and cost of each group with their intervals, a row a group."""
        low, high = _ends(self.counts, level)
        cost = cost_low = cost_high = np.full(len(low), np.nan)
        if self.money:
            cost = self.expected * self.money[0]
            cost_low, cost_high = _ends(self.money[1], level)
        found = (self.expected, low, high, cost, cost_low, cost_high)
        return pl.DataFrame(dict(zip(RANGES, found, strict=True))).fill_nan(None)


@dataclass(frozen=True, eq=False)
class Outlook:
    """What a reserve is read from at any level: the draws, and the counts of ``Reserve``."""

    whole: Drawn
    quarters: pl.DataFrame
    by_quarter: Drawn
    years: pl.DataFrame
    by_year: Drawn
    cracks: int
    open_ended: int
    past_oldest: float

    def at(self, level: float) -> Reserve:
        """The reserve at one level; LeakbackError for a level that is none."""
        require_level(level)
        (total,) = self.whole.ranges(level).to_dicts()
        known = total["expected_cost"] is not None
        return Reserve(
            leak_backs=Estimate(total["expected_leak_backs"], total["low"], total["high"]),
            cost=Estimate(total["expected_cost"], total["cost_low"], total["cost_high"]) if known else None,
            by_quarter=self.quarters.hstack(self.by_quarter.ranges(level)),
            by_year=self.years.hstack(self.by_year.ranges(level)),
            cracks=self.cracks,
            open_ended=self.open_ended,
            past_oldest=self.past_oldest,
        )


def under_warranty(follow_up: pl.DataFrame, as_of: date, oldest_days: float) -> pl.DataFrame:
    """The cracks that have held and are under warranty after ``as_of``, with their ages that day and at its end.

    Adds age_days and end_days, and ``open_ended`` where the warranty has no end: it is then counted to the oldest
    age seen, and not at all where the crack is as old already.
    """
    ends = (pl.col("warranty_ends_on") - pl.col("done_on")).dt.total_days().cast(pl.Float64)
    return (
        follow_up.with_columns(age_days=age_days(as_of), open_ended=pl.col("warranty_ends_on").is_null(), end_days=ends)
        .with_columns(end_days=pl.col("end_days").fill_null(oldest_days))
        .filter(~pl.col("leaked_back") & (pl.col("end_days") > pl.col("age_days")))
    )


def outlook(model: HazardModel, follow_up: pl.DataFrame, as_of: date, costs: Sequence[float]) -> Outlook:
    """What the reserve for the done cracks of ``follow_up`` as of a day is read from, at any level.

    ``costs`` are what the business's own leak-backs cost each, at today's rates; fewer than FEWEST_COSTS and the
    cost is left out. Leak-backs are counted once a crack. TooFewError where no crack is under warranty.
    """
    held = under_warranty(follow_up, as_of, model.oldest_days)
    if held.is_empty():
        raise TooFewError("no repaired crack is under warranty, so nothing has to be set aside.")
    age, end = held["age_days"].to_numpy(), held["end_days"].to_numpy()
    quarters = quarter_ends(as_of, int(np.ceil(np.max(end - age))))
    days = np.array([(day - as_of).days for day in quarters], dtype=np.float64)
    ahead = Ahead(model, held, age, end, days)
    years, place = np.unique(held["year"].to_numpy(), return_inverse=True)
    whole, by_year = ahead.altogether_and_by_group(place, len(years))
    return Outlook(
        whole=drawn(whole, costs),
        quarters=periods(as_of, quarters),
        by_quarter=drawn(ahead.between_ages(), costs),
        years=pl.DataFrame({"year": years, "cracks": np.bincount(place, minlength=len(years))}),
        by_year=drawn(by_year, costs),
        cracks=held.height,
        open_ended=int(held["open_ended"].sum()),
        past_oldest=_past_oldest(model, held, float(whole.expected[0])),
    )


def expected_each(model: HazardModel, held: pl.DataFrame, to_days: Array | None = None) -> Array:
    """The chance that each crack of ``under_warranty`` leaks back by the age ``to_days``, else under warranty."""
    ends = held["end_days"].to_numpy() if to_days is None else to_days
    return Ahead(model, held, held["age_days"].to_numpy(), ends).chances[:, 0]


def cost_draws(counts: NDArray[np.int64], costs: Array, rng: np.random.Generator) -> Array:
    """What each drawn count of leak-backs costs, of the shape of ``counts`` (draws by periods).

    Each leak-back's cost is one of ``costs``, drawn anew; each draw's level of cost is off by as much as the mean of
    so many costs may be.
    """
    flat = counts.reshape(-1)
    totals = np.empty(flat.size)
    first = 0
    for last in (*_blocks(flat), flat.size):
        cells = np.repeat(np.arange(last - first), flat[first:last])
        totals[first:last] = np.bincount(cells, rng.choice(costs, size=len(cells)), minlength=last - first)
        first = last
    error = costs.std(ddof=1) / np.sqrt(len(costs)) / costs.mean() if len(costs) > 1 else 0.0
    off = np.exp(rng.normal(-(error**2) / 2, error, (len(counts), 1)))
    return np.asarray(totals.reshape(counts.shape) * off, dtype=np.float64)


def _blocks(counts: NDArray[np.int64]) -> list[int]:
    """The places before which about MOST_DRAWN leak-backs have come together, again and again."""
    gathered = np.cumsum(counts)
    steps = np.arange(MOST_DRAWN, gathered[-1] if gathered.size else 0, MOST_DRAWN)
    return sorted(set(np.searchsorted(gathered, steps, side="right").tolist()))


def drawn(foreseen: Foreseen, costs: Sequence[float]) -> Drawn:
    """Draws of the leak-backs of each group and of their cost; without enough costs there is no money."""
    rng = np.random.default_rng(SEED)
    pool = np.sort(np.array(costs, dtype=np.float64))  # drawn by place, so in an order of their own
    counts = foreseen.draws(rng, DRAWS)
    known = len(pool) >= FEWEST_COSTS and float(pool.mean()) > 0
    money = (float(pool.mean()), cost_draws(counts, pool, rng)) if known else None
    return Drawn(foreseen.expected, counts, money)


def _ends(drawn: Array | NDArray[np.int64], level: float) -> tuple[Array, Array]:
    """The ends that leave out equal shares of the draws on either side, each a value that was drawn."""
    out = tail(level)
    low, high = np.quantile(drawn, out, axis=0, method="lower"), np.quantile(drawn, 1 - out, axis=0, method="higher")
    return np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)


def _past_oldest(model: HazardModel, held: pl.DataFrame, expected: float) -> float:
    """The share of the expected leak-backs at ages past the oldest repair watched."""
    if not expected:
        return 0.0
    seen = np.minimum(held["end_days"].to_numpy(), np.maximum(held["age_days"].to_numpy(), model.oldest_days))
    return 1 - float(expected_each(model, held, seen).sum()) / expected
