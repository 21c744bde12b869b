"""Whether cracks of a foreseen chance leak back as often as foreseen: the reliability curve, with counts."""

import numpy as np

from analytics.contract.ages import horizon_days
from analytics.contract.bounds import USUAL_LEVEL
from analytics.risk.outcome import HORIZON_MONTHS, Outcome
from analytics.risk.verdict import Bin, Estimate
from analytics.stats.survival import leak_back_interval, product_limit

LEAK_BACKS_A_BIN = 15
MOST_BINS = 8
FEWEST_BINS = 2


def reliability(outcome: Outcome) -> tuple[Bin, ...]:
    """Later cracks in groups of equal size by foreseen chance, the lowest first.

    The share seen is read off the group's product-limit curve at the horizon, which weighs those still watched in by
    the inverse chance of being watched (Satten & Datta, American Statistician 55 (2001) 207); its interval goes by job.
    """
    count = int(np.clip(outcome.leaked.sum() // LEAK_BACKS_A_BIN, FEWEST_BINS, MOST_BINS))
    order = np.argsort(outcome.chance, kind="stable")
    return tuple(_bin(outcome, members) for members in np.array_split(order, count) if len(members))


def _bin(outcome: Outcome, members: np.ndarray) -> Bin:
    horizon = horizon_days(HORIZON_MONTHS)
    curve = product_limit(outcome.days[members], outcome.leaked[members], outcome.jobs[members])
    read = curve.read(horizon)
    share = leak_back_interval(read.survival, read.var_log, read.events, read.watched, USUAL_LEVEL)
    seen = Estimate(*(float(part[0]) for part in share))
    return Bin(
        cracks=len(members),
        leak_backs=int(read.events[0]),
        watched=int(read.watched[0]),
        foreseen=float(outcome.chance[members].mean()),
        seen=None if np.isnan(seen.value) else seen,
    )
