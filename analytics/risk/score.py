"""Is the model better than the base rate? Fitted on the records before a day, judged on the jobs done since."""

from datetime import date, timedelta

import numpy as np
import polars as pl

from analytics.contract.ages import horizon_days
from analytics.errors import TooFewError
from analytics.risk.challenge import compare, with_trees
from analytics.risk.exposure import as_seen_on
from analytics.risk.hazard import FEWEST_LEAK_BACKS, fit
from analytics.risk.ipcw import brier_parts, concordance_parts, still_watched
from analytics.risk.outcome import HORIZON_MONTHS, Outcome, around, error_by_job, foresee, ratio_around, watched
from analytics.risk.penalty import choose
from analytics.risk.poisson import covariance, fit_poisson
from analytics.risk.reliability import reliability
from analytics.risk.verdict import Challenge, Estimate, Verdict
from analytics.stats.survival import product_limit
from analytics.stats.threads import one_thread

JUDGED_MONTHS = (24, 18)
"""How long before the as-of date the records are cut; the shorter where the longer leaves too few before it."""
FEWEST_JUDGED = 20
"""With fewer leak-backs among the later jobs, a gain or a loss would be chance alone."""
CHANCE_RANKING = 0.5


@one_thread()
def judge(follow_up: pl.DataFrame, as_of: date) -> Verdict:
    """Fit on the records as they stood before a day and judge on the jobs done since.

    TooFewError, in words, where there are too few leak-backs before or after it, or no crack watched long enough.
    """
    cut = _cut(follow_up, as_of)
    early, later = as_seen_on(follow_up, cut), follow_up.filter(pl.col("done_on") >= cut)
    leaked = int(later["leaked_back"].sum())
    if leaked < FEWEST_JUDGED or not (watched(later) >= horizon_days(HORIZON_MONTHS)).any():
        raise TooFewError(
            f"The risk model could not be checked: {leaked} leak-backs among the jobs done since {cut}; "
            f"it needs {FEWEST_JUDGED}, and jobs watched for {HORIZON_MONTHS} months."
        )
    hazard = fit(early, cut, choose(early))
    boosted = with_trees(early, cut, hazard)
    foreseen, raised = foresee(hazard, later), foresee(boosted, later) if boosted else None
    challenge = compare(foreseen, raised, boosted.trees if boosted else "")
    held = product_limit(watched(early), early["leaked_back"]).read(horizon_days(HORIZON_MONTHS)).survival
    base_rate = 1 - float(held[0])
    return weigh(raised if raised and challenge.winner == "boosted" else foreseen, base_rate, cut, challenge)


def weigh(outcome: Outcome, base_rate: float, cut: date, challenge: Challenge | None = None) -> Verdict:
    """The scores of what was foreseen, against one chance for every crack, and the verdict in words."""
    horizon = float(horizon_days(HORIZON_MONTHS))
    days, leaked = outcome.days, outcome.leaked
    still = still_watched(days, leaked)
    model_parts = brier_parts(days, leaked, outcome.chance, horizon, still)
    base_parts = brier_parts(days, leaked, np.full(len(days), base_rate), horizon, still)
    gain = base_parts - model_parts
    gain_error = error_by_job(gain - gain.mean(), outcome.jobs) / len(days)
    share, pulls = concordance_parts(days, leaked, outcome.chance, horizon, still)
    concordance = around(share, error_by_job(pulls, outcome.jobs))
    better = bool(gain.mean() > 0 and concordance.low > CHANCE_RANKING)
    return Verdict(
        cut=cut,
        months=HORIZON_MONTHS,
        cracks=len(days),
        leak_backs=int(leaked.sum()),
        brier=float(model_parts.mean()),
        base_brier=float(base_parts.mean()),
        gain=around(float(gain.mean()), gain_error),
        concordance=concordance,
        expected=float(outcome.expected.sum()),
        ratio=_ratio(outcome),
        slope=_slope(outcome),
        better=better,
        words="better than the base rate" if better else "no better than the base rate",
        reliability=reliability(outcome),
        challenge=challenge,
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
    error = error_by_job(outcome.leaked - outcome.expected * observed / foreseen, outcome.jobs) / observed
    return ratio_around(observed, foreseen, error)


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
    return around(float(fitted.coefficients[0]), float(np.sqrt(spread[1, 1])))
