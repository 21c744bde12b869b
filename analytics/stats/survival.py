"""The share that has held at each age, when some are watched for less time than others."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.errors import LeakbackError
from analytics.stats.intervals import Floats, clopper_pearson, log_log

LEAST_WATCHED = 10
"""Fewer still watched at an age, and nothing is said about it."""
FEW_EVENTS = 5
"""Fewer events, and the log-log interval is too short: the exact one on the effective sample size is used."""


class Reading(NamedTuple):
    """A curve at some ages; arrays of one length."""

    survival: Floats
    var_log: Floats
    events: NDArray[np.int64]
    watched: NDArray[np.int64]


class Shares(NamedTuple):
    """Shares with their intervals; NaN where too few are watched. Arrays of one shape."""

    value: Floats
    low: Floats
    high: Floats


class LogRank(NamedTuple):
    """Two groups compared over their whole curves; NaN where they never overlap at an event."""

    chi2: float
    p_value: float


@dataclass(frozen=True)
class Curve:
    """A product-limit estimate (Kaplan & Meier 1958); one entry an age at which something failed.

    ``greenwood`` is the variance of log survival, ``clustered`` the same from the infinitesimal jackknife over
    clusters, None where no clusters were given; both infinite once survival is 0. ``times`` are all ages at which
    watching ended, ascending.
    """

    ages: Floats
    events: NDArray[np.int64]
    at_risk: NDArray[np.int64]
    survival: Floats
    greenwood: Floats
    clustered: Floats | None
    times: Floats

    @property
    def var_log(self) -> Floats:
        """Variance of log survival: Greenwood's, widened where clusters call for it, never narrowed."""
        return self.greenwood if self.clustered is None else np.maximum(self.greenwood, self.clustered)

    def read(self, ages: ArrayLike) -> Reading:
        """The curve at these ages: what happened up to each, and how many are still watched there."""
        asked = np.atleast_1d(np.asarray(ages, dtype=np.float64))
        last = np.searchsorted(self.ages, asked, side="right")
        return Reading(
            survival=np.concatenate(([1.0], self.survival))[last],
            var_log=np.concatenate(([0.0], self.var_log))[last],
            events=np.concatenate(([0], self.events.cumsum()))[last],
            watched=self.times.size - np.searchsorted(self.times, asked, side="left"),
        )


def product_limit(times: ArrayLike, failed: ArrayLike, clusters: ArrayLike | None = None) -> Curve:
    """The curve of units watched until ``times``, where ``failed`` says whether the watching ended in an event.

    Three arrays of one length. Where one age holds both, events come before the ends of watching. ``clusters`` names
    the group whose units may fail together. LeakbackError where nothing is watched or the lengths differ.
    """
    t, e = _followed(times, failed)
    if clusters is not None and np.shape(clusters) != t.shape:
        raise LeakbackError("clusters and times differ in length: name one cluster for each unit")
    order = np.argsort(t, kind="stable")
    t, e = t[order], e[order]
    ages, events = np.unique(t[e], return_counts=True)
    at_risk = t.size - np.searchsorted(t, ages, side="left")
    outlived = at_risk - events
    survival = np.cumprod(outlived / at_risk, dtype=np.float64)
    with np.errstate(divide="ignore"):
        greenwood = np.cumsum(events / at_risk / outlived)
        named = None if clusters is None else np.asarray(clusters)[order]
        clustered = None if named is None else _clustered(t, e, named, ages, greenwood, outlived)
    return Curve(ages, events, at_risk, survival, greenwood, clustered, t)


def leak_back_interval(
    survival: ArrayLike, var_log: ArrayLike, events: ArrayLike, watched: ArrayLike, level: float
) -> Shares:
    """The share that failed, 1 - survival, with the interval its number of events allows.

    From 5 events on the log-log interval; with 1 to 4 the exact one on the effective sample size S(1 - S) / var(S);
    with none, or with none left, the exact one on the number still watched. NaN where fewer than 10 are watched.
    ``var_log`` is the variance of log survival; LeakbackError where it is 0 in spite of events.
    """
    inputs = (np.asarray(x, dtype=np.float64) for x in (survival, var_log, events, watched))
    s, variance, failures, left = np.broadcast_arrays(*inputs)
    edge = (failures == 0) | (s == 0)
    if np.any(~edge & (variance <= 0)):
        raise LeakbackError("there are events but no variance: give the variance of log survival")
    many = log_log(s, variance, level)
    with np.errstate(divide="ignore", invalid="ignore"):
        effective = np.where(edge, left, (1 - s) / (s * variance))
    few = clopper_pearson((1 - s) * effective, effective, level)
    plenty = (failures >= FEW_EVENTS) & ~edge
    shown = left >= LEAST_WATCHED
    value, low, high = 1 - s, np.where(plenty, 1 - many.high, few.low), np.where(plenty, 1 - many.low, few.high)
    return Shares(*(np.where(shown, x, np.nan) for x in (value, low, high)))


def log_rank_by_cluster(times: ArrayLike, failed: ArrayLike, chosen: ArrayLike, clusters: ArrayLike) -> LogRank:
    """Whether the curve of the ``chosen`` units differs from the others', where units of a cluster fail together.

    Four arrays of one length. The log-rank score over its variance between clusters: the robust score test of the
    hazard model (Lin & Wei, Journal of the American Statistical Association 84 (1989) 1074).
    """
    t, e = _followed(times, failed)
    group = np.asarray(chosen, dtype=np.float64)
    if group.shape != t.shape or np.shape(clusters) != t.shape:
        raise LeakbackError("times, groups and clusters differ in length: give one of each for each unit")
    order = np.argsort(t, kind="stable")
    t, e, group = t[order], e[order], group[order]
    ages, events = np.unique(t[e], return_counts=True)
    first = np.searchsorted(t, ages, side="left")
    at_risk = t.size - first
    theirs = np.cumsum(group[::-1])[::-1][first] / at_risk if ages.size else np.empty(0)
    hazard = np.concatenate(([0.0], np.cumsum(events / at_risk)))
    shared = np.concatenate(([0.0], np.cumsum(theirs * events / at_risk)))
    last = np.searchsorted(ages, t, side="right")
    pull = shared[last] - group * hazard[last]
    pull[e] += group[e] - theirs[last[e] - 1]
    codes = np.unique(np.asarray(clusters)[order], return_inverse=True)[1]
    variance = float(np.square(np.bincount(codes, pull)).sum())
    if variance == 0:
        return LogRank(float("nan"), float("nan"))
    chi2 = float(pull.sum()) ** 2 / variance
    return LogRank(chi2, math.erfc(math.sqrt(chi2 / 2)))  # the tail of chi-squared on one degree


def _followed(times: ArrayLike, failed: ArrayLike) -> tuple[Floats, NDArray[np.bool_]]:
    t, e = np.asarray(times, dtype=np.float64), np.asarray(failed, dtype=np.bool_)
    if t.size == 0 or t.shape != e.shape or not np.all(np.isfinite(t)):
        raise LeakbackError("survival needs at least one unit, and for each one age and whether it failed")
    return t, e


def _clustered(
    times: Floats,
    failed: NDArray[np.bool_],
    clusters: NDArray[np.generic],
    ages: Floats,
    greenwood: Floats,
    outlived: NDArray[np.int64],
) -> Floats:
    """Variance of log survival at each age: the clusters' influences on it, squared and summed.

    A unit's influence is Greenwood's sum up to the age, or to its own end, less 1 / (n - d) once it has failed. At an
    age with Greenwood's sum H that of a cluster is F + H m: F is of its units no longer watched, m how many still are.
    So three sums over clusters, of F squared, F m and m squared, give every age from one look at each unit.
    """
    told = int(np.count_nonzero(outlived))  # all but an age nobody outlives, which can only be the last
    gone = np.searchsorted(ages[:told], times, side="left")
    influence = np.concatenate(([0.0], greenwood))[np.searchsorted(ages, times, side="right")]
    influence[failed & (gone < told)] -= (1 / outlived[:told])[gone[failed & (gone < told)]]
    influence[gone == told] = 0.0
    codes = np.unique(clusters, return_inverse=True)[1]
    order, sizes = np.argsort(codes, kind="stable"), np.bincount(codes)
    first = np.repeat(np.cumsum(sizes) - sizes, sizes)
    own, left = influence[order], np.repeat(sizes, sizes) - (np.arange(times.size) - first)
    so_far = np.cumsum(own) - own
    before = so_far - so_far[first]
    changes = (own * (2 * before + own), own * (left - 1) - before, 1.0 - 2 * left)
    ff, fm, mm = (np.cumsum(np.bincount(gone[order], change, told + 1)[:told]) for change in changes)
    variance = np.full(ages.size, np.inf)
    held = greenwood[:told]
    variance[:told] = ff + 2 * held * fm + held**2 * (mm + float(np.square(sizes).sum()))
    return variance
