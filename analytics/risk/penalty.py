"""The ridge penalties, chosen by how well leak-backs after a day are foretold from what was known that day."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache

import numpy as np
import polars as pl

from analytics.errors import TooFewError
from analytics.risk.design import Design, prepare
from analytics.risk.exposure import as_seen_on, by_band, seen_after
from analytics.risk.features import FEATURES, STEPS, Feature
from analytics.risk.model import Penalties
from analytics.risk.poisson import Array, PoissonFit, fit_poisson
from analytics.risk.scaling import encode
from analytics.stats.threads import one_thread

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

    @cache
    def deviance(penalties: Penalties) -> float:
        return sum(trial.deviance(penalties) for trial in trials)

    chosen = Penalties(FEATURE_PENALTIES[2], CREW_PENALTIES[2])
    if features:
        chosen = min((replace(chosen, features=penalty) for penalty in FEATURE_PENALTIES), key=deviance)
    if with_crews:
        chosen = min((replace(chosen, crews=penalty) for penalty in CREW_PENALTIES), key=deviance)
    return chosen


@dataclass(frozen=True, eq=False)
class _Counts:
    """Cracks: model columns ``x``, ``leaked``, and ``expected``, leak-backs at the hazard of their ages alone."""

    x: Array
    leaked: Array
    expected: Array


@dataclass(eq=False)
class _Trial:
    """What was learnt ``before`` a day, and what was watched ``after`` it; fits start from the one before."""

    design: Design
    before: _Counts
    after: _Counts
    fitted: PoissonFit | None = None

    def deviance(self, penalties: Penalties) -> float:
        """Half the Poisson deviance of the later leak-backs, up to a constant."""
        weights = self.design.penalties(penalties)[len(self.design.edges_days) - 1 :]
        self.fitted = fit_poisson(self.before.x, self.before.leaked, self.before.expected, weights, self.fitted)
        expected = self.after.expected * self.fitted.rates(self.after.x)
        return float(expected.sum() - self.after.leaked @ np.log(expected))


def _trial(
    follow_up: pl.DataFrame, begin: date, end: date | None, features: tuple[Feature, ...], *, with_crews: bool
) -> _Trial:
    """The records as they stood on the day ``begin``, and what was watched from then to ``end``."""
    before = as_seen_on(follow_up, begin)
    design, table = prepare(before, features, with_crews=with_crews)
    after = seen_after(as_seen_on(follow_up, end) if end else follow_up, begin)
    hazards = table.leaked.sum(axis=0) / table.years.sum(axis=0)
    years, leaked = by_band(after, design.edges_days, entry="entry_days")
    late = encode(design.scaling, after, STEPS).columns
    early = _counts(table.x, table.leaked, table.years, hazards)
    return _Trial(design, early, _counts(late, leaked, years, hazards))


def _counts(x: Array, leaked: Array, years: Array, hazards: Array) -> _Counts:
    """The cracks with the hazards of the ages held: that tells effects as well as a rate an age does, sooner."""
    expected = years @ hazards
    seen = expected > 0
    return _Counts(x[seen], leaked[seen].sum(axis=1), expected[seen].astype(np.float64))


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
