"""The reserve's cross-check: a chain ladder on the same leak-backs, by year of work and years since."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.ages import DAYS_PER_YEAR
from analytics.decisions.reserving import expected_each, under_warranty
from analytics.risk import HazardModel
from analytics.risk.exposure import age_days
from analytics.stats.chain_ladder import chain_ladder


@dataclass(frozen=True)
class LadderCheck:
    """Leak-backs to come by the chain ladder with its standard error, and by the hazards over the same span.

    A chain ladder knows nothing past the age its oldest year has reached, so neither does ``by_hazard``. ``years``
    of work, each of twelve months back from the as-of day.
    """

    years: int
    expected: float
    error: float
    by_hazard: float


def ladder_check(model: HazardModel, follow_up: pl.DataFrame, as_of: date) -> LadderCheck:
    """The chain ladder on the leak-backs of ``follow_up`` beside the hazards; TooFewError as in ``chain_ladder``."""
    counts = triangle(follow_up, as_of)
    years = len(counts)
    found = chain_ladder(counts.cumsum(axis=1))
    held = under_warranty(follow_up, as_of, model.oldest_days)
    age, back = held["age_days"].to_numpy(), _years_back(held, as_of)
    reached = age + (years - 1 - back) * DAYS_PER_YEAR
    span = np.clip(held["end_days"].to_numpy(), age, reached)
    return LadderCheck(years, found.expected, found.error, float(expected_each(model, held, span).sum()))


def triangle(follow_up: pl.DataFrame, as_of: date) -> NDArray[np.float64]:
    """Leak-backs under warranty: a row a year of work from the oldest, a column the years from it to the report."""
    back = _years_back(follow_up, as_of)
    years = int(back.max(initial=0)) + 1
    leaked = follow_up["leaked_back"].to_numpy()
    known = _days_back(follow_up, as_of) - follow_up["watched_days"].to_numpy()
    reported = np.floor(np.maximum(known, 0.0) / DAYS_PER_YEAR).astype(np.int64)
    counts = np.zeros((years, years))
    np.add.at(counts, (years - 1 - back[leaked], (back - reported)[leaked]), 1.0)
    return counts


def _days_back(cracks: pl.DataFrame, as_of: date) -> NDArray[np.float64]:
    days = cracks.select(age_days(as_of)).to_series()
    return np.asarray(days.to_numpy(), dtype=np.float64)


def _years_back(cracks: pl.DataFrame, as_of: date) -> NDArray[np.int64]:
    """Whole years from the work to the as-of day."""
    return np.floor(_days_back(cracks, as_of) / DAYS_PER_YEAR).astype(np.int64)
