"""Is the model better than the base rate? Fitted on the records before a day, judged on the jobs done since."""

from dataclasses import dataclass
from datetime import date, timedelta
from statistics import NormalDist

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.contract.ages import horizon_days
from analytics.errors import TooFewError
from analytics.risk.exposure import as_seen_on
from analytics.risk.hazard import FEWEST_LEAK_BACKS, fit
from analytics.risk.ipcw import brier_parts, concordance_parts, held, still_watched
from analytics.risk.model import Estimate, HazardModel, Verdict
from analytics.risk.penalty import choose
from analytics.risk.poisson import Array, covariance, fit_poisson, one_thread
from analytics.risk.predict import cumulative, log_relative

JUDGED_MONTHS = (24, 18)
"""How long before the as-of date the records are cut; the shorter where the longer leaves too few before it."""
HORIZON_MONTHS = 12
FEWEST_JUDGED = 20
"""With fewer leak-backs among the later jobs, a gain or a loss would be chance alone."""
CHANCE_RANKING = 0.5
Z_95 = NormalDist().inv_cdf(0.975)


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


@one_thread()
def judge(follow_up: pl.DataFrame, as_of: date) -> Verdict:
    """Fit on the records as they stood before a day and judge on the jobs done since.

    TooFewError, in words, where there are too few leak-backs before or after it, or no crack watched long enough.
    """
    cut = _cut(follow_up, as_of)
    early, later = as_seen_on(follow_up, cut), follow_up.filter(pl.col("done_on") >= cut)
    leaked = int(later["leaked_back"].sum())
    if leaked < FEWEST_JUDGED or not (_days(later) > horizon_days(HORIZON_MONTHS)).any():
        raise TooFewError(
            f"The risk model could not be checked: {leaked} leak-backs among the jobs done since {cut}; "
            f"it needs {FEWEST_JUDGED}, and jobs watched for more than {HORIZON_MONTHS} months."
        )
    model = fit(early, cut, choose(early))
    base_rate = 1 - held(_days(early), early["leaked_back"].to_numpy(), horizon_days(HORIZON_MONTHS))
    return weigh(foresee(model, later), base_rate, cut)


def foresee(model: HazardModel, later: pl.DataFrame) -> Outcome:
    """What the model foresees of cracks it has not seen, from what is known before the work."""
    whole = cumulative(model, later, 0.0, float(horizon_days(HORIZON_MONTHS)))
    watched = cumulative(model, later, 0.0, _days(later))
    return Outcome(
        days=_days(later),
        leaked=later["leaked_back"].to_numpy(),
        jobs=later["job_id"].rank("dense").to_numpy().astype(np.int64) - 1,
        chance=-np.expm1(-np.exp(whole.log)),
        expected=np.exp(watched.log),
        plain=np.exp(watched.log - log_relative(model, later)),
    )


def weigh(outcome: Outcome, base_rate: float, cut: date) -> Verdict:
    """The scores of what was foreseen, against one chance for every crack, and the verdict in words."""
    horizon = float(horizon_days(HORIZON_MONTHS))
    days, leaked = outcome.days, outcome.leaked
    watched = still_watched(days, leaked)
    model_parts = brier_parts(days, leaked, outcome.chance, horizon, watched)
    base_parts = brier_parts(days, leaked, np.full(len(days), base_rate), horizon, watched)
    gain = base_parts - model_parts
    gain_error = _error(gain - gain.mean(), outcome.jobs) / len(days)
    share, pulls = concordance_parts(days, leaked, outcome.chance, horizon, watched)
    concordance = _around(share, _error(pulls, outcome.jobs))
    better = bool(gain.mean() > 0 and concordance.low > CHANCE_RANKING)
    return Verdict(
        cut=cut,
        months=HORIZON_MONTHS,
        cracks=len(days),
        leak_backs=int(leaked.sum()),
        brier=float(model_parts.mean()),
        base_brier=float(base_parts.mean()),
        gain=_around(float(gain.mean()), gain_error),
        concordance=concordance,
        expected=float(outcome.expected.sum()),
        ratio=_ratio(outcome),
        slope=_slope(outcome),
        better=better,
        words="better than the base rate" if better else "no better than the base rate",
    )


def _cut(follow_up: pl.DataFrame, as_of: date) -> date:
    """The day the records are cut at: the earliest that leaves enough leak-backs before it."""
    for months in JUDGED_MONTHS:
        cut = as_of - timedelta(days=horizon_days(months))
        before = int(as_seen_on(follow_up, cut)["leaked_back"].sum())
        if before >= FEWEST_LEAK_BACKS:
            return cut
    raise TooFewError(
        f"The risk model could not be checked: {before} leak-backs were reported before {cut}; "
        f"{FEWEST_LEAK_BACKS} are needed to work out risks then and judge them on the jobs done since."
    )


def _ratio(outcome: Outcome) -> Estimate:
    """Observed over expected leak-backs, the interval on the log scale and by job."""
    observed, foreseen = float(outcome.leaked.sum()), float(outcome.expected.sum())
    error = _error(outcome.leaked - outcome.expected * observed / foreseen, outcome.jobs) / observed
    log = _around(float(np.log(observed / foreseen)), error)
    return Estimate(observed / foreseen, float(np.exp(log.low)), float(np.exp(log.high)))


def _slope(outcome: Outcome) -> Estimate:
    """The coefficient of the log relative hazard foreseen, in a Poisson regression with the average crack's exposure.

    Taking the watched time as exposure leaves the spread between cracks alone to be judged, which a coefficient of
    the log of all that is expected would mix with how long each was watched.
    """
    relative = np.log(outcome.expected / outcome.plain)[:, None]
    counts = outcome.leaked.astype(np.float64), outcome.plain
    none = np.zeros(1)
    fitted = fit_poisson(relative, *counts, none)
    spread = covariance(fitted, relative, *counts, none, outcome.jobs)
    return _around(float(fitted.coefficients[0]), float(np.sqrt(spread[1, 1])))


def _error(parts: Array, jobs: NDArray[np.int64]) -> float:
    """The standard error of a sum of parts that sum to about zero, cracks of one job together."""
    return float(np.sqrt((np.bincount(jobs, weights=parts) ** 2).sum()))


def _around(value: float, error: float) -> Estimate:
    return Estimate(value, value - Z_95 * error, value + Z_95 * error)


def _days(cracks: pl.DataFrame) -> Array:
    return cracks["watched_days"].to_numpy().astype(np.float64)
