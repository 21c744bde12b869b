"""What was foreseen of later cracks and what came of them, and how sure a figure made of them is."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.ages import horizon_days
from analytics.contract.bounds import USUAL_LEVEL
from analytics.risk.jobs import job_numbers
from analytics.risk.model import HazardModel
from analytics.risk.poisson import Array
from analytics.risk.predict import log_average, log_by_age, log_by_facts
from analytics.risk.verdict import Estimate
from analytics.stats.intervals import garwood, normal_reach

HORIZON_MONTHS = 12
Z_95 = normal_reach(USUAL_LEVEL)


@dataclass(frozen=True, eq=False)
class Outcome:
    """What was foreseen of later cracks, and what came of them; the cracks go together by ``jobs``.

    ``chance`` of leaking back within the horizon, ``expected`` leak-backs over the time watched, and of that
    ``plain``, what is expected of the average crack.
    """

    days: Array
    leaked: NDArray[np.bool_]
    jobs: NDArray[np.int64]
    chance: Array
    expected: Array
    plain: Array


def foresee(model: HazardModel, later: pl.DataFrame) -> Outcome:
    """What the model foresees of cracks it has not seen, from what is known before the work."""
    days, start = watched(later), np.zeros(later.height)
    facts = log_by_facts(model, later)
    so_far = log_by_age(model, start, days)
    whole = log_by_age(model, start, start + horizon_days(HORIZON_MONTHS))
    return Outcome(
        days=days,
        leaked=later["leaked_back"].to_numpy(),
        jobs=job_numbers(later),
        chance=-np.expm1(-np.exp(whole + facts)),
        expected=np.exp(so_far + facts),
        plain=np.exp(so_far + log_average(model)),
    )


def watched(cracks: pl.DataFrame) -> Array:
    """Days each crack was watched."""
    return cracks["watched_days"].to_numpy().astype(np.float64)


def error_by_job(parts: Array, jobs: NDArray[np.int64]) -> float:
    """The standard error of a sum of parts that sum to about zero, cracks of one job together."""
    return float(np.sqrt((np.bincount(jobs, weights=parts) ** 2).sum()))


def around(value: float, error: float) -> Estimate:
    """A value with its 95 % interval, by the normal approximation."""
    return Estimate(float(value), float(value - Z_95 * error), float(value + Z_95 * error))


def ratio_around(seen: float, expected: float, log_error: float) -> Estimate:
    """Seen over expected with its 95 % interval, even on the log scale; exact (Garwood 1936) where nothing was seen."""
    if seen == 0:
        return Estimate(0.0, 0.0, float(garwood(0, USUAL_LEVEL).high) / expected)
    log = around(float(np.log(seen / expected)), log_error)
    return Estimate(seen / expected, float(np.exp(log.low)), float(np.exp(log.high)))
