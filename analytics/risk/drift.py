"""Whether the latest year is like the years before it: what was repaired, and how often it leaks back."""

from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from analytics.contract.ages import horizon_days
from analytics.contract.dimensions import NOT_RECORDED
from analytics.errors import TooFewError
from analytics.risk.exposure import as_seen_on, band_years, seen_after
from analytics.risk.features import FEATURES, STEPS
from analytics.risk.hazard import fit
from analytics.risk.jobs import job_numbers
from analytics.risk.model import HazardModel, Penalties
from analytics.risk.outcome import error_by_job, ratio_around, watched
from analytics.risk.predict import encoded, gathered
from analytics.risk.verdict import Drift, Moved
from analytics.stats.multiplicity import stands
from analytics.stats.shift import shift
from analytics.stats.threads import one_thread

if TYPE_CHECKING:
    from analytics.risk.poisson import Array

YEAR = timedelta(days=horizon_days(12))
GROUPS = 5
"""A number is grouped at the fifths of the earlier cracks."""
MEASUREMENTS = tuple(dict.fromkeys(column for feature in FEATURES for column in feature.columns))


@one_thread()
def drift(follow_up: pl.DataFrame, as_of: date, penalties: Penalties) -> Drift | None:
    """The latest year against all before it; None where the years before are no full year or have too few leak-backs.

    The hazard is fitted on the records as they stood a year ago and foretells the time watched since.
    """
    since = as_of - YEAR
    before, latest = follow_up.filter(pl.col("done_on") < since), follow_up.filter(pl.col("done_on") >= since)
    first = before["done_on"].min()
    after = seen_after(follow_up, since)
    if latest.is_empty() or after.is_empty() or not isinstance(first, date) or since - first < YEAR:
        return None
    try:
        earlier = fit(as_seen_on(follow_up, since), since, penalties)
    except TooFewError:
        return None
    leak_backs, expected, error = _kept_up(earlier, after)
    ratio = ratio_around(leak_backs, expected, error)
    moved = _moved(before, latest)
    return Drift(since, leak_backs, expected, ratio, moved, _said(ratio.low, ratio.high, moved))


def _kept_up(earlier: HazardModel, after: pl.DataFrame) -> tuple[int, float, float]:
    """Leak-backs since, those expected, and the standard error of the log of their ratio.

    The error takes in chance (by job) and what the earlier records left open about the expected.
    """
    years = band_years(earlier.edges_days, after["entry_days"].to_numpy(), watched(after))
    log, slopes = gathered(earlier, encoded(earlier, after, STEPS).columns, years)
    each = np.exp(log)
    leaked = after["leaked_back"].to_numpy()
    seen, expected = int(leaked.sum()), float(each.sum())
    jobs = job_numbers(after)
    chance = error_by_job(leaked - each * seen / expected, jobs) / max(seen, 1)
    slope: Array = each @ slopes / expected
    left_open = float(slope @ np.array(earlier.covariance) @ slope)
    return seen, expected, float(np.sqrt(chance**2 + left_open))


def _moved(before: pl.DataFrame, latest: pl.DataFrame) -> tuple[Moved, ...]:
    """Each measurement that has more than one group, the furthest beyond chance first.

    Cracks of a job share much, so it is jobs that count as independent.
    """
    jobs = before["job_id"].n_unique(), latest["job_id"].n_unique()
    found = []
    for name in MEASUREMENTS:
        counts = _counts(before[name], latest[name])
        if counts.height > 1:
            found.append((name, counts, shift(counts["before"], counts["after"], *jobs)))
    stand = stands([one.p_value for _, _, one in found])
    moved = [
        Moved(name, one.stability, one.by_chance, bool(stood), *_most(counts))
        for (name, counts, one), stood in zip(found, stand, strict=True)
    ]
    return tuple(sorted(moved, key=lambda one: -one.index / one.by_chance))


def _counts(before: pl.Series, latest: pl.Series) -> pl.DataFrame:
    """Cracks in each group of a measurement: group, before, after."""
    cuts = _cuts(before) if before.dtype.is_numeric() else []
    sides = [_grouped(part, cuts).value_counts(name=side) for part, side in ((before, "before"), (latest, "after"))]
    return sides[0].join(sides[1], on="group", how="full", coalesce=True).fill_null(0).sort("group")


def _grouped(values: pl.Series, cuts: list[float]) -> pl.Series:
    """The group of each value: a band of a number, a word, yes or no."""
    if values.dtype.is_numeric():
        names = [*(f"up to {cut:.3g}" for cut in cuts[:1]), *(f"over {a:.3g} to {b:.3g}" for a, b in pairwise(cuts))]
        names.append(f"over {cuts[-1]:.3g}" if cuts else "recorded")
        place = np.searchsorted(cuts, values.fill_null(0).to_numpy())
        values = pl.select(pl.when(values.is_not_null()).then(pl.Series([names[one] for one in place]))).to_series()
    words = {"true": "yes", "false": "no"} if values.dtype == pl.Boolean else {}
    return values.cast(pl.String).replace(words).fill_null(NOT_RECORDED).alias("group")


def _cuts(numbers: pl.Series) -> list[float]:
    """The inner fifths, each once and none at the very top."""
    known = numbers.drop_nulls().cast(pl.Float64)
    fifths = {known.quantile(place / GROUPS) for place in range(1, GROUPS)} - {None, known.max()}
    return sorted(fifth for fifth in fifths if fifth is not None)


def _most(counts: pl.DataFrame) -> tuple[str, float, float]:
    """The group whose share changed most, and its shares."""
    shares = counts.with_columns(pl.col("before", "after") / pl.col("before", "after").sum())
    group, before, after = shares.sort((pl.col("after") - pl.col("before")).abs(), descending=True).row(0)
    return str(group), float(before), float(after)


def _said(low: float, high: float, moved: tuple[Moved, ...]) -> str:
    changed = any(one.stands for one in moved)
    if low > 1:
        return (
            "leak-backs of the latest year run higher than the years before foretell: risks are more likely too low "
            "than too high, so look for what changed and fit again as the new work grows older"
        )
    if high < 1:
        return (
            "leak-backs of the latest year run lower than the years before foretell: risks are more likely too high "
            "than too low, so look for what changed and fit again as the new work grows older"
        )
    if changed:
        return "the work has changed, and the risks have kept up with it: no need to fit on the newer jobs alone"
    return "the latest year is like the years before it: no need to fit on the newer jobs alone"
