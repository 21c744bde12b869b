"""The ridge penalties, chosen by how well leak-backs after a day are foretold from what was known that day."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import polars as pl

from analytics.errors import TooFewError
from analytics.risk.design import Design, Table, prepare
from analytics.risk.exposure import as_seen_on, seen_after
from analytics.risk.features import FEATURES, Feature
from analytics.risk.model import Penalties
from analytics.risk.poisson import fit_poisson, one_thread

FEATURE_PENALTIES = (1.0, 4.0, 16.0, 64.0)
CREW_PENALTIES = (1.0, 4.0, 16.0, 64.0)
"""Effects with a standard deviation of 1, 1/2, 1/4 and 1/8 on the log hazard. Where even 1/8 is too much, the base
rate is used, and shrinking further would only make the intervals look surer than they are."""
CUT_SHARES = (0.55, 0.7, 0.85)
"""The history is cut where these shares of the leak-backs were reported; each cut is judged up to the next."""
FEWEST_BEFORE_CUT = 20


@one_thread()
def choose(follow_up: pl.DataFrame, features: tuple[Feature, ...] = FEATURES, *, with_crews: bool = True) -> Penalties:
    """The penalties with the least Poisson deviance out of time: first the features', then the crews'.

    Each trial is fitted on the records as they stood on the day of a cut and judged on the time watched after it.
    """
    trials = [_trial(follow_up, begin, end, features, with_crews=with_crews) for begin, end in _cuts(follow_up)]

    def deviance(penalties: Penalties) -> float:
        return sum(_deviance(penalties, *trial) for trial in trials)

    chosen = Penalties(FEATURE_PENALTIES[2], CREW_PENALTIES[2])
    if features:
        chosen = min((replace(chosen, features=penalty) for penalty in FEATURE_PENALTIES), key=deviance)
    if with_crews:
        chosen = min((replace(chosen, crews=penalty) for penalty in CREW_PENALTIES), key=deviance)
    return chosen


def _trial(
    follow_up: pl.DataFrame, begin: date, end: date | None, features: tuple[Feature, ...], *, with_crews: bool
) -> tuple[Design, Table, Table]:
    """What was learnt before ``begin``, the rows known then, and those watched from ``begin`` to ``end``."""
    before = as_seen_on(follow_up, begin)
    design = prepare(before, features, with_crews=with_crews)
    after = seen_after(as_seen_on(follow_up, end) if end else follow_up, begin)
    return design, design.table(before), design.table(after, entry="entry_days")


def _deviance(penalties: Penalties, design: Design, before: Table, after: Table) -> float:
    """Half the Poisson deviance of the later leak-backs, up to a constant."""
    fitted = fit_poisson(before.x, before.leaked, before.years, design.penalties(penalties))
    expected = after.years * fitted.rates(after.x)
    return float(expected.sum() - after.leaked @ np.log(expected))


def _cuts(follow_up: pl.DataFrame) -> list[tuple[date, date | None]]:
    """Each cut and the day to which it is judged, None for the end of the records."""
    reported = (
        follow_up.filter("leaked_back")
        .select(day=pl.col("done_on") + pl.duration(days=pl.col("watched_days").ceil()))["day"]
        .sort()
    )
    places = [int(share * len(reported)) for share in CUT_SHARES]
    days: list[date] = [reported[place] + timedelta(days=1) for place in places if place >= FEWEST_BEFORE_CUT]
    days = sorted(set(days))
    if not days:
        raise TooFewError(
            f"{len(reported)} leak-backs are too few to choose how far effects are shrunk: at least "
            f"{int(FEWEST_BEFORE_CUT / CUT_SHARES[-1]) + 1} are needed."
        )
    return list(zip(days, [*days[1:], None], strict=True))
